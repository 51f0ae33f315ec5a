//! `waterjacket practice`: a job with a hidden vehicle.

mod play;
mod text;

use super::options::{ThemeOption, UnitsOption};
use super::{Outcome, print, print_json};
use crate::error::Faults;
use crate::plot::Theme;
use crate::practice::{Answer, Change, Folder, debrief};
use clap::Subcommand;
use std::path::PathBuf;

/// Practise on a hidden vehicle: order tests, pay in workshop minutes, call the cylinder
///
/// A job lives in a folder and can be left at any time. What is hidden lies in `sealed.bin`: a curtain,
/// not a lock.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  waterjacket practice list\n  \
    waterjacket practice start hill-road --in out/hill-road\n  \
    waterjacket practice order --in out/hill-road --test crank --sync coil:1\n  \
    waterjacket practice call --in out/hill-road 3 --confidence 90%\n  \
    waterjacket practice debrief --in out/hill-road\n  \
    waterjacket practice play --in out/hill-road")]
pub struct Arguments {
    #[command(subcommand)]
    command: Practice,
}

#[derive(Subcommand)]
enum Practice {
    /// List the jobs, from plain to nasty
    List {
        /// Print as JSON
        #[arg(long)]
        json: bool,
    },
    /// Start a job in a new folder
    Start {
        /// The job's name, as `list` shows it
        #[arg(value_name = "JOB")]
        job: String,
        /// Folder for the job
        #[arg(long = "in", value_name = "FOLDER")]
        folder: PathBuf,
        /// Another vehicle of the same kind for each seed
        #[arg(long, value_name = "N")]
        seed: Option<u64>,
    },
    /// Order the next test; what you do not name stays as the last order left it
    #[command(
        after_help = "Examples:\n  waterjacket practice order --in job --test crank --sync coil:1,starter\n  \
        waterjacket practice order --in job --plugs-out 3\n  \
        waterjacket practice order --in job --test idle --plugs-out none --let-cool\n\n\
        Exit code 1: the order was refused as dangerous."
    )]
    Order {
        /// Folder of the job
        #[arg(long = "in", value_name = "FOLDER")]
        folder: PathBuf,
        #[command(flatten)]
        options: Box<OrderOptions>,
    },
    /// Show the work order, the minutes spent and the captures so far
    Show {
        /// Folder of the job
        #[arg(long = "in", value_name = "FOLDER")]
        folder: PathBuf,
        /// Print as JSON
        #[arg(long)]
        json: bool,
    },
    /// Call the cylinder; the call stands
    Call {
        /// Folder of the job
        #[arg(long = "in", value_name = "FOLDER")]
        folder: PathBuf,
        /// `3`, `2+5` (both leak), `2|5` (one of them), `none` or `unsure`
        #[arg(value_name = "CYLINDERS")]
        cylinders: String,
        /// How sure you are: `0.8` or `80%`
        #[arg(long, value_name = "P")]
        confidence: Option<String>,
    },
    /// Tell the truth, the score and the shortest safe path; after the call
    Debrief {
        /// Folder of the job
        #[arg(long = "in", value_name = "FOLDER")]
        folder: PathBuf,
        /// Units of the pictures and the words
        #[arg(long, value_enum, default_value_t)]
        units: UnitsOption,
        /// Ground of the pictures
        #[arg(long, value_enum, default_value_t)]
        theme: ThemeOption,
        /// Print as JSON
        #[arg(long)]
        json: bool,
    },
    /// Do the same in a conversation, line by line; `help` helps
    Play {
        /// Folder of the job; a new one asks which job
        #[arg(long = "in", value_name = "FOLDER")]
        folder: PathBuf,
    },
}

#[derive(clap::Args)]
struct OrderOptions {
    /// How the engine is turned: `crank` or `idle`
    #[arg(long, value_name = "WORD")]
    test: Option<String>,
    /// Cylinders whose plugs are out: `3`, `1,3` or `none`
    #[arg(long, value_name = "CYLINDERS")]
    plugs_out: Option<String>,
    /// Cylinders whose injectors are unplugged at idle: `3`, `1,3` or `none`
    #[arg(long, value_name = "CYLINDERS")]
    cut: Option<String>,
    /// What marks a cylinder: `coil:1`, `cylinder:1` (a transducer in place of its plug), `starter`
    /// (current), `battery` (voltage), with commas between, or `none`
    #[arg(long, value_name = "SYNCS")]
    sync: Option<String>,
    /// What sits at the neck: `pressure`, `pulse` or `both`
    #[arg(long, value_name = "WORD")]
    sensor: Option<String>,
    /// Coolant level: `as-found` or `topped-up` (and bled)
    #[arg(long, value_name = "WORD")]
    coolant: Option<String>,
    /// What closes the neck: `sealed` (the adapter), `own` (the vehicle's cap) or `open`
    #[arg(long, value_name = "WORD")]
    cap: Option<String>,
    /// Full scale of the transducer, such as `35 kPa` or `5 psi`
    #[arg(long, value_name = "PRESSURE")]
    range: Option<String>,
    /// Input range of the pulse sensor, such as `2 V`
    #[arg(long, value_name = "VOLTAGE")]
    pulse_range: Option<String>,
    /// Samples a second, such as `20 kHz`
    #[arg(long, value_name = "FREQUENCY")]
    rate: Option<String>,
    /// Length of the capture, such as `4 s`
    #[arg(long, value_name = "TIME")]
    duration: Option<String>,
    /// Fuel: `off` or `on`; without it, off for cranking and on at idle
    #[arg(long, value_name = "WORD")]
    fuel: Option<String>,
    /// Let a warm engine cool first
    #[arg(long)]
    let_cool: bool,
}

impl From<OrderOptions> for Change {
    fn from(o: OrderOptions) -> Change {
        Change {
            test: o.test,
            plugs_out: o.plugs_out,
            cut: o.cut,
            sync: o.sync,
            sensor: o.sensor,
            coolant: o.coolant,
            cap: o.cap,
            range: o.range,
            pulse_range: o.pulse_range,
            rate: o.rate,
            duration: o.duration,
            fuel: o.fuel,
            let_cool: o.let_cool,
        }
    }
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    match arguments.command {
        Practice::List { json } => list(json)?,
        Practice::Start { job, folder, seed } => {
            let started = Folder::start(&job, &folder, seed)?;
            print(&text::work_order(&started)?)?;
            print(&text::first_steps(&folder))?;
        }
        Practice::Order { folder, options } => {
            let mut opened = Folder::open(&folder)?;
            let answer = opened.order(&Change::from(*options))?;
            print(&text::answer(&opened, &answer, true))?;
            if let Answer::Refused(_) = answer {
                return Ok(Outcome::Failed);
            }
        }
        Practice::Show { folder, json } => {
            let opened = Folder::open(&folder)?;
            match json {
                true => print_json(&opened.log)?,
                false => print(&(text::work_order(&opened)? + &text::state(&opened)))?,
            }
        }
        Practice::Call {
            folder,
            cylinders,
            confidence,
        } => {
            let mut opened = Folder::open(&folder)?;
            opened.call(&cylinders, confidence.as_deref())?;
            print(&text::called(&opened))?;
        }
        Practice::Debrief {
            folder,
            units,
            theme,
            json,
        } => {
            let opened = Folder::open(&folder)?;
            let theme = match theme {
                ThemeOption::Light => Theme::Light,
                ThemeOption::Dark => Theme::Dark,
            };
            let told = debrief(&opened, units.into(), theme)?;
            match json {
                true => print_json(&told)?,
                false => print(&text::debrief(&told))?,
            }
        }
        Practice::Play { folder } => play::run(&folder)?,
    }
    Ok(Outcome::Done)
}

fn list(json: bool) -> Result<(), Faults> {
    let entries = text::entries()?;
    match json {
        true => print_json(&entries),
        false => print(&text::list(&entries)),
    }
}
