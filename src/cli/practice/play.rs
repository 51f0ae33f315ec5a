//! `waterjacket practice play`: the same job as a conversation, a line each way.

use super::text;
use crate::cli::print;
use crate::error::{Fault, Faults};
use crate::plot::Theme;
use crate::practice::order::{Level, Sensor, Test};
use crate::practice::{Change, Folder, debrief, jobs};
use std::io::{BufRead, IsTerminal};
use std::path::Path;

const HELP: &str =
    "  test     order a test; I ask for each setting, and an empty line leaves it as it is
  show     the work order, and what was done so far
  call     name the cylinder; the call stands
  debrief  the truth and the score, after the call
  quit     leave; the job waits in its folder
  stop     leaves the questions of a test or a call
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
            // A slip of the tongue ends no conversation.
            Err(faults) => tell(&faults)?,
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
            Err(faults) => tell(&faults)?,
        }
    }
}

/// One question: its words, what stands without an answer, and the field that the answer goes to.
type Question = (&'static str, fn(&Change) -> &Option<String>, Field);
type Field = fn(&mut Change) -> &mut Option<String>;

const TEST: Question = ("Crank it or idle it", |c| &c.test, |c| &mut c.test);
const CUT: Question = ("Which injectors unplugged", |c| &c.cut, |c| &mut c.cut);
const RANGE: Question = (
    "Full scale of the transducer",
    |c| &c.range,
    |c| &mut c.range,
);
const PULSE: Question = (
    "Input range of the pulse sensor",
    |c| &c.pulse_range,
    |c| &mut c.pulse_range,
);
const LEVEL: Question = (
    "Coolant: as-found or topped-up",
    |c| &c.coolant,
    |c| &mut c.coolant,
);

/// Asks for a test, setting by setting; false once the input ends.
fn test(input: &mut impl BufRead, folder: &mut Folder) -> Result<bool, Faults> {
    folder.before_the_call("test")?;
    let warm = folder.bench().warm;
    let mut change = Change::default();
    let mut asked = 0;
    loop {
        let (order, _) = folder.read(&change)?;
        let mut questions: Vec<Question> = vec![
            TEST,
            ("Which plugs out", |c| &c.plugs_out, |c| &mut c.plugs_out),
        ];
        if order.test == Test::Idle {
            questions.push(CUT);
        }
        questions.push((
            "Which sync: coil:N, cylinder:N, starter, battery or none",
            |c| &c.sync,
            |c| &mut c.sync,
        ));
        questions.push((
            "At the neck: pressure, pulse or both",
            |c| &c.sensor,
            |c| &mut c.sensor,
        ));
        if order.sensor != Sensor::Pulse {
            questions.push(RANGE);
        }
        if order.sensor != Sensor::Pressure {
            questions.push(PULSE);
        }
        if order.coolant == Level::AsFound || change.coolant.is_some() {
            questions.push(LEVEL);
        }
        questions.push((
            "The neck: sealed, own cap or open",
            |c| &c.cap,
            |c| &mut c.cap,
        ));
        questions.push(("Fuel: off or on", |c| &c.fuel, |c| &mut c.fuel));
        questions.push(("How long", |c| &c.duration, |c| &mut c.duration));
        questions.push(("Samples a second", |c| &c.rate, |c| &mut c.rate));
        let Some((words, now, field)) = questions.get(asked) else {
            break;
        };
        let stands = Change::from(&order);
        let stands = now(&stands).clone().unwrap_or_default();
        match ask(input, &format!("  {words}? [{stands}]"))? {
            Reply::Line(line) if line.is_empty() => asked += 1,
            Reply::Line(line) => {
                let mut next = change.clone();
                *field(&mut next) = Some(line);
                match folder.read(&next) {
                    Ok(_) => {
                        change = next;
                        asked += 1;
                    }
                    Err(faults) => tell(&faults)?,
                }
            }
            Reply::Stop => return left(),
            Reply::End => return Ok(false),
        }
    }
    if warm {
        match ask(
            input,
            "  The engine is warm. Let it cool first: yes or no? [no]",
        )? {
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

/// Tells faults; their places are settings here, not options.
fn tell(faults: &Faults) -> Result<(), Faults> {
    print(&format!("{}\n", faults.to_string().replace("--", "")))
}

fn call(input: &mut impl BufRead, folder: &mut Folder) -> Result<bool, Faults> {
    folder.before_the_call("call")?;
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
    // A terminal shows what is typed; a log of piped lines would not.
    if !std::io::stdin().is_terminal() {
        print(&format!("{line}\n"))?;
    }
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
