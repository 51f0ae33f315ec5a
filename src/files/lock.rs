//! A lock that processes take in turn: a file that its holder has locked.
//!
//! The system drops the lock with the process, so that none outlives a kill; the file goes away with the lock, and one that
//! a kill left behind does no harm.

use super::identity::lies_at;
use crate::error::{Fault, Faults};
use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// A lock that this process holds until it is dropped.
#[derive(Debug)]
pub struct Lock {
    file: PathBuf,
    _open: File,
}

impl Lock {
    /// Takes the lock of the place `path`, by the file `.NAME.lock` beside it.
    ///
    /// # Errors
    /// If another process holds it, or the file cannot be made.
    pub fn take(path: &Path) -> Result<Lock, Faults> {
        Lock::by(path, |file| held(file, path))
    }

    /// Takes the lock of the place `path` once nobody else holds it.
    ///
    /// # Errors
    /// If the file cannot be made.
    pub fn wait(path: &Path) -> Result<Lock, Faults> {
        Lock::by(path, |file| match file.lock() {
            Err(e) if e.kind() != ErrorKind::Unsupported => Err(fault(path, &e)),
            _ => Ok(()),
        })
    }

    fn by(path: &Path, lock: impl Fn(&File) -> Result<(), Faults>) -> Result<Lock, Faults> {
        let mut name = std::ffi::OsString::from(".");
        name.push(path.file_name().unwrap_or_default());
        name.push(".lock");
        let file = path.with_file_name(name);
        // Opening a pipe would wait for its reader.
        if file.exists() && !file.is_file() {
            let problem = "it is in the way of a lock";
            return Err(Fault::new(file.display(), problem, "move it elsewhere").into());
        }
        let mut options = File::options();
        options.write(true).create(true).truncate(false);
        loop {
            let open = options.open(&file).map_err(|e| fault(path, &e))?;
            lock(&open)?;
            // Whoever held the lock before may have taken the file away.
            if lies_at(&open, &file).map_err(|e| fault(path, &e))? {
                return Ok(Lock { file, _open: open });
            }
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Elsewhere a second taker could not tell that the file it locked is gone.
        if cfg!(unix) {
            // Nothing can be done about a file that will not go, and it does no harm.
            let _ = fs::remove_file(&self.file);
        }
    }
}

/// Locks an open file, or says that another process writes what lies at `path`.
pub(super) fn held(file: &File, path: &Path) -> Result<(), Faults> {
    match file.try_lock() {
        Ok(()) => Ok(()),
        Err(TryLockError::WouldBlock) => {
            let problem = "another process is writing it";
            let remedy = "let that one finish, or stop it first";
            Err(Fault::new(path.display(), problem, remedy).into())
        }
        // Some file systems that nodes share know no locks; there, whoever starts the runs sees to it.
        Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => Ok(()),
        Err(TryLockError::Error(e)) => Err(fault(path, &e)),
    }
}

fn fault(path: &Path, error: &io::Error) -> Faults {
    Fault::io(path, "write it", error).into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering::SeqCst};

    #[test]
    fn a_second_taker_is_refused_and_the_file_goes_with_the_lock() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("a");
        let file = folder.path().join(".a.lock");
        fs::write(&file, "left by a killed process").unwrap();
        let first = Lock::take(&place).unwrap();
        let faults = Lock::take(&place).unwrap_err().to_string();
        assert!(
            faults.contains("a: another process is writing it"),
            "{faults}"
        );
        drop(first);
        assert!(!file.exists());
        assert!(Lock::take(&place).is_ok());
        assert!(Lock::take(&folder.path().join("no/such/place")).is_err());
    }

    #[test]
    fn those_who_wait_hold_it_one_by_one() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("a");
        let [inside, most] = [AtomicU32::new(0), AtomicU32::new(0)];
        std::thread::scope(|threads| {
            for _ in 0..4 {
                threads.spawn(|| {
                    for _ in 0..200 {
                        let lock = Lock::wait(&place).unwrap();
                        most.fetch_max(inside.fetch_add(1, SeqCst) + 1, SeqCst);
                        std::thread::yield_now();
                        inside.fetch_sub(1, SeqCst);
                        drop(lock);
                    }
                });
            }
        });
        assert_eq!(most.into_inner(), 1);
    }
}
