//! Files and folders: read with limits, written whole or not at all. Nothing here knows what stands in them.

pub mod atomic;
pub mod directory;
pub mod disk_space;
mod durable;
mod identity;
pub mod journal;
mod lock;
pub mod new_folder;
mod outputs;
pub mod regular;

pub use atomic::Part;
pub use durable::make_durable;
pub use journal::{Journal, WholeLines};
pub use lock::Lock;
pub use new_folder::NewFolder;
pub use outputs::{Output, Outputs, real};
pub use regular::{open_regular, read_all, read_at_most, sha256_of};
