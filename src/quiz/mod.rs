//! Quiz packs: captures for a class, and the key that stays with the instructor.
//!
//! A quiz file ([`Quiz`]) names scenarios and how many captures of each. [`draw`] fills it: candidates
//! are drawn and rendered one by one, and kept where kind and difficulty are still wanted. [`Pack`]
//! writes what was kept as two folders that never mix, `student/` and `key/`.
//!
//! Nothing in `student/` may give an answer away. What carries that:
//!
//! - Kinds (a leak to name, a healthy car, a capture that does not settle it) and cylinders are balanced
//!   within each scenario, so that vehicle, complaint and set-up tell nothing of the answer.
//! - A healthy car is the twin of a leaking one that would have been kept, its leaks taken out, so that
//!   what was wanted of the leak does not show in what the card tells of the day.
//! - Names are numbers in an order drawn by the seed; every capture of a pack has the same length, rate
//!   and resolution, every picture the same number of bytes, every file the same time.
//! - The pack's id is made of the captures themselves, not of the seed, which it would help to guess.

mod build;
mod draw;
mod file;
mod html;
mod order;
mod pack;
mod page;
mod picture;

pub use build::write;
pub use draw::{Item, Kind, draw};
pub use file::{Entry, Quiz, QuizFile};
pub use pack::{PACK_FORMAT, Pack};
