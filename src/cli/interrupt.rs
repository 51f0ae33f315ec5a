//! Ctrl-C: the work at hand stops at the next whole file.

use crate::error::{Fault, Faults};
use std::sync::atomic::{AtomicBool, Ordering};

static ASKED: AtomicBool = AtomicBool::new(false);

/// Listens for interrupts from now on; a second one ends the program at once.
pub fn listen() -> Result<(), Faults> {
    ctrlc::set_handler(|| {
        if ASKED.swap(true, Ordering::Relaxed) {
            std::process::exit(2);
        }
    })
    .map_err(|e| Fault::new("interrupt", e, "run the command in an ordinary terminal").into())
}

/// Fails once an interrupt was asked for; `done` says what is finished.
pub fn check(done: &str) -> Result<(), Faults> {
    if ASKED.load(Ordering::Relaxed) {
        let remedy = "run the command again; it makes the same bytes";
        return Err(Fault::new("interrupted", done, remedy).into());
    }
    Ok(())
}
