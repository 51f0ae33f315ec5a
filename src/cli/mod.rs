//! The command line: one file a command. Only here is anything printed, or the program ended.

mod attribute;
mod check;
mod compare;
mod corpus;
mod explain;
mod export;
mod grade;
mod interrupt;
mod options;
mod page;
mod plot;
mod practice;
mod quiz;
mod render;
mod schema;
mod sweep;

use crate::error::{Fault, Faults};
use clap::{Parser, Subcommand};
use std::process::ExitCode;

/// Render cooling-system captures with known truth, look at them, and grade the cylinder call.
///
/// Exit code 0: done. 1: checked, and something failed. 2: could not run.
/// Results go to standard output, faults to standard error.
#[derive(Parser)]
#[command(
    version,
    arg_required_else_help = true,
    subcommand_required = true,
    after_help = "Example:\n  waterjacket render scenarios --out out/lessons --plot\n  \
        waterjacket explain out/lessons/01-plain-staircase"
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Check(check::Arguments),
    Render(render::Arguments),
    Plot(plot::Arguments),
    Page(page::Arguments),
    Export(export::Arguments),
    Explain(explain::Arguments),
    Attribute(attribute::Arguments),
    Grade(grade::Arguments),
    Compare(compare::Arguments),
    Quiz(quiz::Arguments),
    Practice(practice::Arguments),
    Corpus(corpus::Arguments),
    Sweep(sweep::Arguments),
    Schema(schema::Arguments),
}

/// How a command ended, if it could run.
enum Outcome {
    /// Done.
    Done,
    /// Checked, and something failed.
    Failed,
}

/// Runs the command that the process was started with.
pub fn run() -> ExitCode {
    let outcome = match Arguments::parse().command {
        Command::Check(a) => check::run(a),
        Command::Render(a) => render::run(a),
        Command::Plot(a) => plot::run(a),
        Command::Page(a) => page::run(a),
        Command::Export(a) => export::run(a),
        Command::Explain(a) => explain::run(a),
        Command::Attribute(a) => attribute::run(a),
        Command::Grade(a) => grade::run(a),
        Command::Compare(a) => compare::run(a),
        Command::Quiz(a) => quiz::run(a),
        Command::Practice(a) => practice::run(a),
        Command::Corpus(a) => corpus::run(a),
        Command::Sweep(a) => sweep::run(a),
        Command::Schema(a) => schema::run(a),
    };
    match outcome {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::Failed) => ExitCode::from(1),
        Err(faults) => {
            tell(&faults);
            ExitCode::from(2)
        }
    }
}

/// Tells faults to whoever runs the program; if nobody can be told, the exit code still says it.
fn tell(faults: &impl std::fmt::Display) {
    use std::io::Write;
    let _ = writeln!(std::io::stderr().lock(), "{faults}");
}

/// Prints a result. A reader that closed the pipe has seen enough.
fn print(text: &str) -> Result<(), Faults> {
    use std::io::Write;
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        Err(e) => Err(Fault::new("standard output", e, "check where it goes").into()),
        Ok(()) => Ok(()),
    }
}

/// Prints a value as JSON.
fn print_json(value: &impl serde::Serialize) -> Result<(), Faults> {
    match serde_json::to_string_pretty(value) {
        Ok(text) => print(&(text + "\n")),
        Err(e) => Err(Fault::new("standard output", e, "leave out --json").into()),
    }
}
