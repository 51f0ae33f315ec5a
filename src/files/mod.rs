//! Files and folders: read with limits, written whole or not at all. Nothing here knows what stands in them.

pub mod atomic;
pub mod directory;
pub mod disk_space;
pub mod journal;
pub mod new_folder;
pub mod regular;

pub use atomic::{Part, write_all, write_hashed, write_with};
pub use journal::Journal;
pub use new_folder::NewFolder;
pub use regular::{open_regular, read_all, read_at_most, sha256_of};
