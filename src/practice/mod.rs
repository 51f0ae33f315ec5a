//! Practice: a job with a hidden vehicle.
//!
//! A student orders tests on a vehicle that nobody shows, pays for each in workshop minutes, is refused
//! what would hurt someone, and calls the cylinder; the debrief then tells the truth, and what the
//! shortest safe path to it was.
//!
//! The folder of a job holds a log of orders, and that log is what counts: each order becomes a scenario
//! of the same vehicle ([`job`]), and every capture can be rendered again from it ([`folder`]). What is
//! hidden lies in a sealed file ([`seal`]), which is a curtain and not a lock.

pub mod bench;
pub mod debrief;
pub mod folder;
pub mod job;
pub mod jobs;
pub mod order;
mod page;
pub mod path;
pub mod proof;
pub mod score;
pub mod seal;

pub use bench::{Bench, Item};
pub use debrief::{Debrief, debrief};
pub use folder::{Answer, Folder, is_job};
pub use job::Job;
pub use order::{Change, Order};
pub use path::{Path, shortest};
pub use score::Score;
