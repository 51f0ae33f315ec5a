//! Reading regular files: never a pipe or device, which could block for ever or never end.

use crate::digest::sha256_hex;
use crate::error::{Fault, Faults};
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

/// All bytes of a regular file; `doing` says what for, as in "read the quiz".
pub fn read_all(path: &Path, doing: &str) -> Result<Vec<u8>, Faults> {
    let (mut file, _) = open_regular(path)?;
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes)
        .map_err(|error| Fault::io(path, doing, &error))?;
    Ok(bytes)
}

/// Opens a regular file for reading and tells its length in bytes. A folder is refused, and a
/// pipe or device, which could block for ever or never end.
pub fn open_regular(path: &Path) -> Result<(File, u64), Faults> {
    let fault = |error: std::io::Error| Fault::io(path, "read it", &error);
    let about = fs::metadata(path).map_err(fault)?;
    if !about.is_file() {
        let problem = if about.is_dir() {
            "it is a folder"
        } else {
            "it is a pipe or device"
        };
        return Err(Fault::new(path.display(), problem, "give the path of a file").into());
    }
    Ok((File::open(path).map_err(fault)?, about.len()))
}

/// Reads the regular file at `path`, of `limit` bytes at most.
pub fn read_at_most(path: &Path, limit: u64) -> Result<Vec<u8>, Faults> {
    let (file, length) = open_regular(path)?;
    if length > limit {
        let problem = format!("it has {length} bytes");
        let remedy = format!("a file of this kind has at most {limit} bytes");
        return Err(Fault::new(path.display(), problem, remedy).into());
    }
    let mut bytes = Vec::new();
    // The limit again, for a file that grows meanwhile.
    file.take(limit)
        .read_to_end(&mut bytes)
        .map_err(|error| Fault::io(path, "read it", &error))?;
    Ok(bytes)
}

/// SHA-256 of the file at `path`, as 64 lower-case hexadecimal digits.
pub fn sha256_of(path: &Path) -> Result<String, Faults> {
    let (file, _) = open_regular(path)?;
    Ok(sha256_hex(file).map_err(|error| Fault::io(path, "read it", &error))?)
}
