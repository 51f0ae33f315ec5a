//! Free space where captures go.

use crate::error::{Fault, Faults};
use std::path::Path;

/// Bytes that may still be written to the file system of `folder`, which must be there.
pub fn free_bytes(folder: &Path) -> Result<u64, Faults> {
    Ok(
        fs4::available_space(folder)
            .map_err(|e| Fault::io(folder, "ask for its free space", &e))?,
    )
}

/// A number of bytes for a person.
pub fn bytes_in_words(bytes: u64) -> String {
    const UNITS: [&str; 5] = ["kB", "MB", "GB", "TB", "PB"];
    let mut amount = bytes as f64;
    let mut unit = "B";
    for larger in UNITS {
        if amount < 999.5 {
            break;
        }
        amount /= 1000.0;
        unit = larger;
    }
    match unit {
        "B" => format!("{bytes} B"),
        _ if amount < 10.0 => format!("{amount:.1} {unit}"),
        _ => format!("{amount:.0} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_told_in_the_unit_that_fits() {
        for (bytes, words) in [
            (0, "0 B"),
            (999, "999 B"),
            (1000, "1.0 kB"),
            (15_400_000, "15 MB"),
            (999_600_000, "1.0 GB"),
            (u64::MAX, "18447 PB"),
        ] {
            assert_eq!(bytes_in_words(bytes), words);
        }
    }

    #[test]
    fn a_folder_that_is_not_there_has_no_space() {
        assert!(free_bytes(Path::new("/")).unwrap() > 0);
        assert!(free_bytes(Path::new("/no/such/folder")).is_err());
    }
}
