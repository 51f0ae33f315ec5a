//! Atomic files: a file appears whole under its name, or not at all.
//!
//! Bytes go to a part file beside the place, `.NAME.XXXXXX.part`, of which every writer has its own; a rename then puts it
//! there. An error or a panic on the way removes the part. A killed process leaves its part behind, where no reader looks
//! and [`remove_parts`](super::directory::remove_parts) finds it: whoever still writes holds a lock on its part.

use super::identity::lies_at;
use crate::digest::Hashed;
use crate::error::{Fault, Faults};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};

/// How the name of a part file ends; it begins with a dot.
pub(super) const PART: &str = ".part";

/// A file on its way: written beside its place, and put there by [`Part::commit`].
pub struct Part {
    place: PathBuf,
    part: NamedTempFile,
}

impl Part {
    /// Writes a part file beside `path` with `fill`; see [`write_with`] for its errors.
    pub fn write(
        path: &Path,
        fill: impl FnOnce(&mut BufWriter<&File>) -> io::Result<()>,
    ) -> Result<Part, Faults> {
        let fault = |error: &io::Error| Fault::io(path, "write it", error);
        let Some(name) = path.file_name() else {
            let remedy = "give the path of a file, with its name at the end";
            return Err(Fault::new(path.display(), "it does not name a file", remedy).into());
        };
        if path.is_dir() {
            let problem = "cannot write it: a folder of this name is there";
            return Err(Fault::new(path.display(), problem, "choose another path").into());
        }
        // The rename would put a file in the place of the device itself, or of the link.
        if path.exists() && !path.is_file() {
            let problem = "cannot write it: it is a pipe or device";
            return Err(Fault::new(path.display(), problem, "choose another path").into());
        }
        let place = if path.is_symlink() {
            path.canonicalize().map_err(|error| fault(&error))?
        } else {
            path.to_owned()
        };
        let mut prefix = std::ffi::OsString::from(".");
        prefix.push(place.file_name().unwrap_or(name));
        prefix.push(".");
        let folder = place.parent().filter(|f| !f.as_os_str().is_empty());
        let part = loop {
            // Made by ourselves, so that it gets the permissions of any other new file.
            let part = Builder::new()
                .prefix(&prefix)
                .suffix(PART)
                .make_in(folder.unwrap_or(Path::new(".")), |part| {
                    File::options().write(true).create_new(true).open(part)
                })
                .map_err(|error| fault(&error))?;
            // Whoever takes away the parts of killed processes may have come in between. A file system without locks
            // keeps those parts.
            let _ = part.as_file().lock();
            if lies_at(part.as_file(), part.path()).map_err(|error| fault(&error))? {
                break part;
            }
        };
        let mut out = BufWriter::with_capacity(1 << 16, part.as_file());
        let filled = fill(&mut out).and_then(|()| out.flush());
        // What an error left in the buffer is dropped.
        drop(out.into_parts());
        match filled {
            Ok(()) => Ok(Part { place, part }),
            Err(error) => Err(error
                .downcast::<Faults>()
                .unwrap_or_else(|error| fault(&error).into())),
        }
    }

    /// As [`Part::write`], with the SHA-256 of what was written, as 64 lower-case hexadecimal digits.
    pub fn write_hashed(
        path: &Path,
        fill: impl FnOnce(&mut Hashed<&mut BufWriter<&File>>) -> io::Result<()>,
    ) -> Result<(Part, String), Faults> {
        let mut digest = String::new();
        let part = Part::write(path, |out| {
            let mut hashed = Hashed::new(out);
            fill(&mut hashed)?;
            digest = hashed.hex();
            Ok(())
        })?;
        Ok((part, digest))
    }

    /// Puts the file in its place, over one that was there before.
    pub fn commit(self) -> Result<(), Faults> {
        let Part { place, part } = self;
        let kept = part.persist(&place);
        Ok(kept
            .map(drop)
            .map_err(|e| Fault::io(&place, "write it", &e.error))?)
    }
}

/// Writes the file at `path` whole or not at all, from `bytes`.
pub fn write(path: &Path, bytes: impl AsRef<[u8]>) -> Result<(), Faults> {
    write_with(path, |out| out.write_all(bytes.as_ref()))
}

/// As [`write_with`], and returns the SHA-256 of what was written, as 64 lower-case hexadecimal digits.
pub fn write_hashed(
    path: &Path,
    fill: impl FnOnce(&mut Hashed<&mut BufWriter<&File>>) -> io::Result<()>,
) -> Result<String, Faults> {
    let (part, digest) = Part::write_hashed(path, fill)?;
    part.commit()?;
    Ok(digest)
}

/// Writes the file at `path` whole or not at all, by `fill`.
///
/// If `fill` fails, a file that was at `path` before stays as it was. An I/O error becomes a fault
/// at `path`; faults that `fill` wraps by `io::Error::other(faults)` come back as they are.
pub fn write_with(
    path: &Path,
    fill: impl FnOnce(&mut BufWriter<&File>) -> io::Result<()>,
) -> Result<(), Faults> {
    Part::write(path, fill)?.commit()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::open_regular;
    use std::fs;

    /// Names of all files in a folder, hidden ones too.
    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_file_appears_whole_and_replaces_the_old_one() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write(&path, b"old and longer").unwrap();
        write_with(&path, |out| {
            out.write_all(b"new")?;
            assert_eq!(fs::read(&path).unwrap(), b"old and longer");
            let [part, place] = &names(folder.path())[..] else {
                panic!("two names")
            };
            assert_eq!(place, "a.txt");
            assert!(
                part.starts_with(".a.txt.") && part.ends_with(".part"),
                "{part}"
            );
            Ok(())
        })
        .unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn an_error_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write(&path, b"old").unwrap();
        let faults = write_with(&path, |out| {
            out.write_all(&[1; 1 << 17])?;
            Err(io::ErrorKind::StorageFull.into())
        })
        .unwrap_err();
        assert!(faults.to_string().contains("a.txt"), "{faults}");
        assert!(faults.to_string().contains("free some space"), "{faults}");
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn a_panic_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write(&path, b"old").unwrap();
        let panicked = std::panic::catch_unwind(|| write_with(&path, |_| panic!("on purpose")));
        assert!(panicked.is_err());
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn faults_of_the_writer_come_back_as_they_are() {
        let folder = tempfile::tempdir().unwrap();
        let own = Faults::from(Fault::new("here", "this is wrong", "mend it"));
        let faults = write_with(&folder.path().join("a"), |_| {
            Err(io::Error::other(own.clone()))
        });
        assert_eq!(faults, Err(own));
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn two_writers_of_one_file_have_a_part_each() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        let first = Part::write(&path, |out| out.write_all(b"first")).unwrap();
        write(&path, b"second").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second");
        first.commit().unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"first");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_new_file_has_the_permissions_of_any_other() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let [own, plain] = ["own", "plain"].map(|name| folder.path().join(name));
        write(&own, b"x").unwrap();
        fs::write(&plain, b"x").unwrap();
        let [own, plain] = [own, plain].map(|p| fs::metadata(p).unwrap().permissions().mode());
        assert_eq!(own, plain);
    }

    #[test]
    fn a_place_that_cannot_be_written_is_a_fault() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "in the way").unwrap();
        let below = file.join("a.txt");
        let missing = folder.path().join("missing").join("a.txt");
        for path in [
            &below,
            &missing,
            folder.path(),
            Path::new("/"),
            Path::new(""),
        ] {
            let faults = write(path, b"x").unwrap_err();
            assert_eq!(faults.0[0].place, path.display().to_string());
        }
        assert_eq!(names(folder.path()), ["file"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_device_stays_a_device_and_a_link_a_link() {
        use std::os::unix::{fs::symlink, net::UnixListener};
        let folder = tempfile::tempdir().unwrap();
        let [file, link, device] = ["file", "link", "device"].map(|name| folder.path().join(name));
        fs::write(&file, "old").unwrap();
        symlink(&file, &link).unwrap();
        write(&link, b"new").unwrap();
        assert!(link.is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"new");

        let _listener = UnixListener::bind(&device).unwrap();
        let faults = write(&device, b"x").unwrap_err();
        assert!(faults.to_string().contains("pipe or device"), "{faults}");
        assert!(!device.is_file());
        assert_eq!(names(folder.path()), ["device", "file", "link"]);
    }

    #[test]
    fn a_folder_is_no_file_to_read() {
        let folder = tempfile::tempdir().unwrap();
        let faults = open_regular(folder.path()).unwrap_err();
        assert!(faults.to_string().contains("it is a folder"), "{faults}");
    }
}
