//! The folder of a job: the log of orders, the sealed vehicle, and the captures made so far.
//!
//! An order is logged before it is rendered. A process killed in between leaves an order without its
//! capture, and whoever opens the folder next renders it: the same bytes.

use super::bench::{Bench, Danger, Item, cautions};
use super::job::{Job, capture_name, warmth};
use super::jobs;
use super::order::{Change, Order, Sensor, shown};
use super::page;
use super::seal::{seal, unseal};
use crate::debrief::{Units, capture_picture};
use crate::domain::{Call, parse_confidence};
use crate::error::{Fault, Faults, nearest};
use crate::files::{Lock, atomic, directory, read_at_most};
use crate::plot::Theme;
use crate::plot::png;
use crate::render::Rendered;
use crate::storage::{CaptureFiles, open};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// What the format line of a job's log says.
pub const FORMAT: &str = "waterjacket practice 1";
/// The log.
const LOG: &str = "job.json";
/// The sealed vehicle.
const SEALED: &str = "sealed.bin";
/// A log or sealed file larger than this is refused unread.
const LIMIT_BYTES: u64 = 1 << 20;

/// The public state of a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Log {
    /// [`FORMAT`].
    pub format: String,
    /// The job's name.
    pub job: String,
    /// Minutes spent.
    pub minutes: u32,
    /// Orders done, the first first.
    pub orders: Vec<Entry>,
    /// What was refused, and why.
    pub refusals: Vec<Refusal>,
    /// The call, once it is made.
    pub call: Option<Called>,
}

/// One order done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The capture it made.
    pub capture: String,
    /// Minutes it took.
    pub minutes: u32,
    /// What was ordered.
    pub order: Order,
}

/// One order refused.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refusal {
    /// What was ordered.
    pub order: String,
    /// Every danger in it.
    pub reasons: Vec<String>,
}

/// The call of a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Called {
    /// The cylinders.
    pub cylinders: Call,
    /// Probability, 0 to 1, that it is right.
    pub confidence: Option<f64>,
}

/// Whether a folder holds a job.
pub fn is_job(folder: &Path) -> bool {
    folder.join(LOG).is_file()
}

/// What came of an order.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// It was done.
    Done(Box<Done>),
    /// Nobody at the yard does that.
    Refused(Vec<Danger>),
}

/// An order that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// The capture's name.
    pub capture: String,
    /// What was ordered.
    pub order: Order,
    /// The bill.
    pub bill: Vec<Item>,
    /// Cautions of this work, to be read before it is done on a car.
    pub cautions: Vec<String>,
    /// A span worth a closer look, s.
    pub closer_s: [f64; 2],
    /// Channels that ran out of their range, with the share of samples; a student sees as much.
    pub clipped: Vec<(String, f64)>,
}

/// A job in its folder.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    /// The log.
    pub log: Log,
    /// The job.
    pub job: Job,
    /// Held while the folder is open, so that no second command loses an order of this one.
    _lock: Lock,
}

impl Folder {
    /// Starts the shipped job `name` in a new or empty folder.
    ///
    /// # Errors
    /// An unknown job; a folder in use, or one that another command has open.
    pub fn start(name: &str, path: &Path, seed: Option<u64>) -> Result<Folder, Faults> {
        let drawn = jobs::draw(name, seed)?;
        let seed = seed.unwrap_or(drawn.spec.seed);
        let job = Job::new(name, drawn, seed)?;
        directory::make(path)?;
        let lock = Lock::take(&path.join(LOG))?;
        directory::remove_parts(path)?;
        let mut names = directory::names(path)?;
        if names.iter().any(|n| n == LOG) {
            let remedy = "go on with it, or choose another folder";
            return Err(
                Fault::new(path.display(), "a job is under way in this folder", remedy).into(),
            );
        }
        // A start that was killed may have left the sealed file.
        names.retain(|n| n != SEALED && !n.starts_with('.'));
        if !names.is_empty() {
            let remedy = "choose a new folder, or an empty one";
            return Err(Fault::new(path.display(), "the folder is in use", remedy).into());
        }
        atomic::write(&path.join(SEALED), seal(&job.hidden)?)?;
        let log = Log {
            format: FORMAT.into(),
            job: name.into(),
            minutes: 0,
            orders: Vec::new(),
            refusals: Vec::new(),
            call: None,
        };
        let started = Folder {
            path: path.into(),
            log,
            job,
            _lock: lock,
        };
        started.save()?;
        Ok(started)
    }

    /// Opens the job in a folder, and renders what an interrupt left out.
    ///
    /// # Errors
    /// No job there, one that another command has open, or a log or sealed file that was changed.
    pub fn open(path: &Path) -> Result<Folder, Faults> {
        let log_path = path.join(LOG);
        if !log_path.exists() {
            let remedy = "start one: waterjacket practice start JOB --in FOLDER";
            return Err(
                Fault::new(path.display(), "there is no job in this folder", remedy).into(),
            );
        }
        let lock = Lock::take(&log_path)?;
        let log = read_log(&log_path)?;
        let sealed = path.join(SEALED);
        let hidden = unseal(
            &sealed.display().to_string(),
            &read_at_most(&sealed, LIMIT_BYTES)?,
        )?;
        if hidden.job != log.job {
            let problem = format!("it belongs to another job than {}", shown(&log.job));
            let remedy = "bring the files of one job together, or start again in another folder";
            return Err(Fault::new(sealed.display(), problem, remedy).into());
        }
        let job = Job::resume(jobs::draw(&log.job, None)?, hidden)?;
        let opened = Folder {
            path: path.into(),
            log,
            job,
            _lock: lock,
        };
        opened.check_log(&log_path)?;
        directory::remove_parts(path)?;
        opened.render_missing()?;
        Ok(opened)
    }

    /// Where a capture of the job lies, without an ending.
    pub fn capture(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    /// The bench as the last order left it.
    pub fn bench(&self) -> Bench {
        let orders = self.log.orders.iter().map(|e| &e.order);
        orders.fold(Bench::default(), |bench, order| bench.after(order))
    }

    /// Reads what a student names of the next order; gives the whole of it, and its length in seconds.
    ///
    /// # Errors
    /// What cannot be read, each at its option. Whether it can be done is not asked here.
    pub fn read(&self, change: &Change) -> Result<(Order, f64), Faults> {
        let order = self.bench().order().with(change)?;
        let duration_s = self.duration_s(&order)?;
        Ok((order, duration_s))
    }

    /// The length of an order's capture, s. What is dangerous may be nonsense besides, and no scenario
    /// takes either: the order's texts are read in a harmless one.
    fn duration_s(&self, order: &Order) -> Result<f64, Faults> {
        let harmless = Order {
            sensor: Sensor::Both,
            range: order.range.clone(),
            pulse_range: order.pulse_range.clone(),
            rate: order.rate.clone(),
            duration: order.duration.clone(),
            ..Order::default()
        };
        Ok(self.job.draw(&harmless, false, 1)?.scenario.test.duration_s)
    }

    /// Orders the next test.
    ///
    /// # Errors
    /// What cannot be read or done, and any order after the call.
    pub fn order(&mut self, change: &Change) -> Result<Answer, Faults> {
        self.before_the_call("order")?;
        let bench = self.bench();
        let (mut order, duration_s) = self.read(change)?;
        let number = self.log.orders.len() as u64 + 1;
        let dangers = bench.dangers(&order, duration_s);
        if !dangers.is_empty() {
            self.log.refusals.push(Refusal {
                order: order.to_string(),
                reasons: dangers.iter().map(|d| d.reason.clone()).collect(),
            });
            self.save()?;
            return Ok(Answer::Refused(dangers));
        }
        bench.check(&order, &self.job.spec, duration_s)?;
        order.let_cool &= bench.warm;
        let warm = bench.starts_warm(&order);
        self.job.draw(&order, warm, number)?;
        let bill = bench.bill(&order, &self.job.spec);
        let minutes: u32 = bill.iter().map(|i| i.minutes).sum();
        let capture = capture_name(number);
        self.log.minutes += minutes;
        self.log.orders.push(Entry {
            capture: capture.clone(),
            minutes,
            order: order.clone(),
        });
        self.save()?;
        let clipped = self.render(number, &order, warm)?;
        let opened = open(&self.capture(&capture))?;
        let mut list = cautions(&order, warm);
        list.extend(opened.card.cautions.clone());
        Ok(Answer::Done(Box::new(Done {
            capture,
            bill,
            cautions: list,
            clipped,
            closer_s: [0.5 * duration_s, 0.75 * duration_s],
            order,
        })))
    }

    /// Makes the call; it stands.
    ///
    /// # Errors
    /// A call that cannot be read, names a cylinder that is not there, comes second or before any test.
    pub fn call(&mut self, cylinders: &str, confidence: Option<&str>) -> Result<(), Faults> {
        self.before_the_call("call")?;
        if self.log.orders.is_empty() {
            let remedy = "order one first: waterjacket practice order --in FOLDER";
            return Err(Fault::new("call", "no test was made yet", remedy).into());
        }
        let mut faults = Vec::new();
        let place = |place: &str, fault: Fault| Fault {
            place: place.into(),
            ..fault
        };
        let called = cylinders
            .parse::<Call>()
            .map_err(|f| faults.push(place("call", f)))
            .ok();
        let confidence = match confidence.map(parse_confidence) {
            Some(Err(f)) => {
                faults.push(place("--confidence", f));
                None
            }
            Some(Ok(value)) => value,
            None => None,
        };
        let n = self.job.spec.places.len() as u32;
        if let Some(called) = called {
            for c in called.named().iter().filter(|c| *c > n) {
                let remedy = format!("this engine has cylinders 1 to {n}");
                faults.push(Fault::new(
                    "call",
                    format!("there is no cylinder {c}"),
                    remedy,
                ));
            }
        }
        match called {
            Some(cylinders) if faults.is_empty() => {
                self.log.call = Some(Called {
                    cylinders,
                    confidence,
                });
                self.save()
            }
            _ => Err(Faults(faults)),
        }
    }

    /// Refuses `what` once the call is made.
    pub fn before_the_call(&self, what: &str) -> Result<(), Faults> {
        match &self.log.call {
            None => Ok(()),
            Some(call) => {
                let problem = format!(
                    "the call stands at {}; the vehicle is in the teardown bay",
                    call.cylinders
                );
                let remedy = "read the debrief, or start another job";
                Err(Fault::new(what, problem, remedy).into())
            }
        }
    }

    fn save(&self) -> Result<(), Faults> {
        let path = self.path.join(LOG);
        let text = serde_json::to_string_pretty(&self.log)
            .map_err(|e| Fault::new(path.display(), e, "start the job again in another folder"))?;
        atomic::write(&path, text + "\n")
    }

    fn render_missing(&self) -> Result<(), Faults> {
        let orders: Vec<Order> = self.log.orders.iter().map(|e| e.order.clone()).collect();
        for (number, (order, warm)) in (1..).zip(orders.iter().zip(warmth(&orders))) {
            let path = self.capture(&capture_name(number));
            if open(&path).is_err() || !path.with_extension("png").is_file() {
                self.render(number, order, warm)?;
            }
        }
        Ok(())
    }

    fn render(&self, number: u64, order: &Order, warm: bool) -> Result<Vec<(String, f64)>, Faults> {
        let Rendered { capture, truth } = self.job.render(order, warm, number)?;
        let name = capture_name(number);
        CaptureFiles::of(&self.path, &name).write(&capture.card, &capture.samples)?;
        let path = self.capture(&name);
        // The picture comes last: by it an open folder knows that all the rest is there.
        page::student(self)?;
        let picture = capture_picture(&open(&path)?, None, Units::Metric, Theme::Light);
        atomic::write(&path.with_extension("png"), png(&picture)?)?;
        let frames = capture.card.frames as f64;
        let clipped = truth.channels.iter().filter(|c| c.clipped_samples > 0);
        Ok(clipped
            .map(|c| (c.name.clone(), c.clipped_samples as f64 / frames))
            .collect())
    }

    /// Refuses a log that no student's orders can have left.
    fn check_log(&self, path: &Path) -> Result<(), Faults> {
        let mut bench = Bench::default();
        let mut faults = Vec::new();
        let mut minutes = 0u32;
        for (i, entry) in self.log.orders.iter().enumerate() {
            let warm = bench.starts_warm(&entry.order);
            let checked = self
                .duration_s(&entry.order)
                .and_then(|s| bench.check(&entry.order, &self.job.spec, s))
                .and_then(|()| self.job.draw(&entry.order, warm, i as u64 + 1));
            let place = format!("{}: orders[{i}]", path.display());
            if let Err(Faults(all)) = checked {
                let below = |f: Fault| Fault {
                    place: format!("{place}: {}", f.place),
                    ..f
                };
                faults.extend(all.into_iter().map(below));
            }
            if entry.capture != capture_name(i as u64 + 1) {
                let problem = format!("it made {}", shown(&entry.capture));
                faults.push(Fault::new(&place, problem, capture_name(i as u64 + 1)));
            }
            minutes = minutes.saturating_add(entry.minutes);
            bench = bench.after(&entry.order);
        }
        if minutes != self.log.minutes {
            let problem = format!(
                "the orders add up to {minutes} minutes, and it says {}",
                self.log.minutes
            );
            faults.push(Fault::new(
                format!("{}: minutes", path.display()),
                problem,
                "put the number back",
            ));
        }
        match faults.is_empty() {
            true => Ok(()),
            false => Err(Faults(faults)),
        }
    }
}

fn read_log(path: &Path) -> Result<Log, Faults> {
    let bytes = read_at_most(path, LIMIT_BYTES)?;
    let log: Log = serde_json::from_slice(&bytes).map_err(|e| {
        let place = format!("{}: line {}", path.display(), e.line());
        let remedy = "put back the file that the program wrote, or start again in another folder";
        Fault::new(place, format!("the log cannot be read: {e}"), remedy)
    })?;
    if log.format != FORMAT {
        let problem = format!("its format is {}", shown(&log.format));
        return Err(Fault::new(
            format!("{}: format", path.display()),
            problem,
            format!("`{FORMAT}` is read here"),
        )
        .into());
    }
    if jobs::names().all(|n| n != log.job) {
        let remedy = match nearest(&log.job, jobs::names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "name a job of `waterjacket practice list`".into(),
        };
        let problem = format!("there is no job {}", shown(&log.job));
        return Err(Fault::new(format!("{}: job", path.display()), problem, remedy).into());
    }
    Ok(log)
}
