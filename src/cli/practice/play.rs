//! `waterjacket practice play`: the same job as a conversation, a line each way.

use super::text;
use crate::cli::print;
use crate::error::{Fault, Faults};
use crate::plot::Theme;
use crate::practice::order::{Cap, Level, Sensor, Sync, Test};
use crate::practice::{Change, Folder, debrief, jobs};
use std::collections::BTreeSet;
use std::io::BufRead;
use std::path::Path;

const HELP: &str = "\
  test     order a test; I ask for each setting, and an empty line leaves it as it is
  show     the work order, and what was done so far
  call     name the cylinder; the call stands
  debrief  the truth and the score, after the call
  quit     leave; the job waits in its folder
Nothing done on the vehicle can be undone, and minutes do not come back.
";

/// What a question came to.
enum Reply {
    /// A line; empty means: as it is.
    Line(String),
    /// The student leaves the questions.
    Stop,
    /// The input ended.
    End,
}

pub fn run(path: &Path) -> Result<(), Faults> {
    let mut input = std::io::stdin().lock();
    let opened = match path.join("job.json").exists() {
        true => Some(Folder::open(path)?),
        false => start(&mut input, path)?,
    };
    let Some(mut folder) = opened else {
        return Ok(());
    };
    print(&text::work_order(&folder)?)?;
    print(&text::state(&folder))?;
    loop {
        let reply = ask(
            &mut input,
            "\nWhat next: test, show, call, debrief, help or quit?",
        )?;
        let word = match reply {
            Reply::Line(line) => line.to_lowercase(),
            Reply::Stop => continue,
            Reply::End => break,
        };
        let result = match word.as_str() {
            "" => Ok(true),
            "test" | "order" => test(&mut input, &mut folder),
            "show" => text::work_order(&folder)
                .and_then(|order| print(&(order + &text::state(&folder))))
                .map(|()| true),
            "call" => call(&mut input, &mut folder),
            "debrief" => debrief(&folder, Default::default(), Theme::Light)
                .and_then(|told| print(&text::debrief(&told)))
                .map(|()| true),
            "help" | "?" => print(HELP).map(|()| true),
            "quit" | "exit" => break,
            other => print(&format!(
                "I do not know {other:?}; `help` lists what I do.\n"
            ))
            .map(|()| true),
        };
        match result {
            Ok(true) => {}
            Ok(false) => break,
            // A slip of the tongue ends no conversation; its place is a setting here, not an option.
            Err(faults) => print(&format!("{}\n", faults.to_string().replace("--", "")))?,
        }
    }
    let folder = path.display();
    print(&format!(
        "The job waits: waterjacket practice play --in {folder}\n"
    ))
}

/// Asks which job to start; `None` if the student leaves.
fn start(input: &mut impl BufRead, path: &Path) -> Result<Option<Folder>, Faults> {
    print(&text::list(&text::entries()?))?;
    loop {
        let name = match ask(input, "Which job?")? {
            Reply::Line(line) => line,
            Reply::Stop | Reply::End => return Ok(None),
        };
        let first = jobs::names().next().unwrap_or_default();
        let name = if name.is_empty() { first } else { &name };
        match jobs::draw(name, None) {
            Ok(_) => return Folder::start(name, path, None).map(Some),
            Err(faults) => print(&format!("{faults}\n"))?,
        }
    }
}

/// Asks for a test, setting by setting; false once the input ends.
fn test(input: &mut impl BufRead, folder: &mut Folder) -> Result<bool, Faults> {
    let bench = folder.bench();
    let now = bench.order();
    let mut change = Change::default();
    // Each question stands beside the field that its answer goes to.
    let mut steps: Vec<Step> = vec![Step::new(
        "Crank it or idle it",
        if now.test == Test::Idle {
            "idle"
        } else {
            "crank"
        },
        |c| &mut c.test,
    )];
    match question(input, &mut steps, &mut change)? {
        Reply::Line(_) => {}
        Reply::Stop => return left(),
        Reply::End => return Ok(false),
    }
    let idle = now.with(&change)?.test == Test::Idle;
    let cylinders = |set: &BTreeSet<u32>| {
        let all: Vec<String> = set.iter().map(u32::to_string).collect();
        if all.is_empty() {
            "none".to_string()
        } else {
            all.join(",")
        }
    };
    let syncs: Vec<String> = now.sync.iter().map(|s: &Sync| String::from(*s)).collect();
    let syncs = if syncs.is_empty() {
        "none".into()
    } else {
        syncs.join(",")
    };
    steps.push(Step::new(
        "Which plugs out",
        &cylinders(&now.plugs_out),
        |c| &mut c.plugs_out,
    ));
    if idle {
        steps.push(Step::new(
            "Which injectors unplugged",
            &cylinders(&now.cut),
            |c| &mut c.cut,
        ));
    }
    steps.push(Step::new(
        "Which sync: coil:N, cylinder:N, starter, battery or none",
        &syncs,
        |c| &mut c.sync,
    ));
    let sensor = match now.sensor {
        Sensor::Pressure => "pressure",
        Sensor::Pulse => "pulse",
        Sensor::Both => "both",
    };
    steps.push(Step::new(
        "At the neck: pressure, pulse or both",
        sensor,
        |c| &mut c.sensor,
    ));
    steps.push(Step::new("Full scale of the transducer", &now.range, |c| {
        &mut c.range
    }));
    let level = if now.coolant == Level::ToppedUp {
        "topped-up"
    } else {
        "as-found"
    };
    steps.push(Step::new("Coolant: as-found or topped-up", level, |c| {
        &mut c.coolant
    }));
    let cap = match now.cap {
        Cap::Sealed => "sealed",
        Cap::Own => "own",
        Cap::Open => "open",
    };
    steps.push(Step::new("The neck: sealed, own cap or open", cap, |c| {
        &mut c.cap
    }));
    let fuel = if idle { "on" } else { "off" };
    steps.push(Step::new("Fuel: off or on", fuel, |c| &mut c.fuel));
    steps.push(Step::new("How long", &now.duration, |c| &mut c.duration));
    steps.push(Step::new("Samples a second", &now.rate, |c| &mut c.rate));
    match question(input, &mut steps, &mut change)? {
        Reply::Line(_) => {}
        Reply::Stop => return left(),
        Reply::End => return Ok(false),
    }
    if bench.warm {
        match ask(input, "  The engine is warm. Let it cool first? [no]")? {
            Reply::Line(line) => change.let_cool = line.to_lowercase().starts_with('y'),
            Reply::Stop => return left(),
            Reply::End => return Ok(false),
        }
    }
    let answer = folder.order(&change)?;
    print(&text::answer(folder, &answer, false))?;
    Ok(true)
}

fn left() -> Result<bool, Faults> {
    print("Nothing was ordered.\n")?;
    Ok(true)
}

/// One question and the field its answer goes to.
struct Step {
    text: String,
    field: fn(&mut Change) -> &mut Option<String>,
}

impl Step {
    fn new(question: &str, now: &str, field: fn(&mut Change) -> &mut Option<String>) -> Step {
        Step {
            text: format!("  {question}? [{now}]"),
            field,
        }
    }
}

/// Asks all `steps` and empties them.
fn question(
    input: &mut impl BufRead,
    steps: &mut Vec<Step>,
    change: &mut Change,
) -> Result<Reply, Faults> {
    for step in steps.drain(..) {
        match ask(input, &step.text)? {
            Reply::Line(line) if line.is_empty() => {}
            Reply::Line(line) => *(step.field)(change) = Some(line),
            other => return Ok(other),
        }
    }
    Ok(Reply::Line(String::new()))
}

fn call(input: &mut impl BufRead, folder: &mut Folder) -> Result<bool, Faults> {
    let question =
        "  Which cylinder: 3, 2+5 if both leak, 2|5 if it is one of them, none or unsure?";
    let cylinders = match ask(input, question)? {
        Reply::Line(line) if line.is_empty() => return no_call(),
        Reply::Line(line) => line,
        Reply::Stop => return no_call(),
        Reply::End => return Ok(false),
    };
    let confidence = match ask(input, "  How sure are you, in percent? [not said]")? {
        Reply::Line(line) => line,
        Reply::Stop => return no_call(),
        Reply::End => return Ok(false),
    };
    let number = confidence.trim_end_matches(['%', ' ']);
    let confidence = match number.is_empty() {
        true => None,
        false => Some(format!("{number}%")),
    };
    folder.call(&cylinders, confidence.as_deref())?;
    print(&text::called(folder))?;
    Ok(true)
}

fn no_call() -> Result<bool, Faults> {
    print("No call was made.\n")?;
    Ok(true)
}

/// Asks a question and reads a line.
fn ask(input: &mut impl BufRead, question: &str) -> Result<Reply, Faults> {
    print(&format!("{question} "))?;
    flush()?;
    let mut line = String::new();
    let read = input
        .read_line(&mut line)
        .map_err(|e| Fault::new("standard input", e, "type plain text"))?;
    if read == 0 {
        print("\n")?;
        return Ok(Reply::End);
    }
    let line = line.trim().to_string();
    match line.to_lowercase().as_str() {
        "stop" => Ok(Reply::Stop),
        _ => Ok(Reply::Line(line)),
    }
}

fn flush() -> Result<(), Faults> {
    use std::io::Write;
    match std::io::stdout().flush() {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Fault::new("standard output", e, "check where it goes").into())
        }
        _ => Ok(()),
    }
}
