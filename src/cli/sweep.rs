//! `waterjacket sweep`: how pulse height and lag move with one field.

use super::options::{Look, outputs};
use super::{Outcome, check, interrupt, print, print_json};

use crate::debrief::sensitivity;
use crate::error::{Fault, Faults};
use crate::scenario::Sweep;
use std::path::PathBuf;

/// Move one field of a scenario through a range, and show how pulse height and lag follow
///
/// The first leak of the scenario is followed. Where the ends of the range are far apart, steps are
/// equal ratios.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    waterjacket sweep scenarios/01-plain-staircase.yaml vehicle.cooling.air_pocket \"50 mL..1500 mL\" --out air.png\n  \
    waterjacket sweep scenarios/01-plain-staircase.yaml faults.leaks[0].opens_at \"0..12 bar\" --steps 13 --json")]
pub struct Arguments {
    /// Scenario file
    #[arg(value_name = "SCENARIO")]
    scenario: PathBuf,
    /// Path of the field, as faults name it: `vehicle.cooling.air_pocket`
    #[arg(value_name = "FIELD")]
    field: String,
    /// Range with its unit: `50 mL..1500 mL`
    #[arg(value_name = "FROM..TO")]
    range: String,
    /// Values from end to end
    #[arg(long, value_name = "N", default_value_t = 9, value_parser = clap::value_parser!(u16).range(2..=200))]
    steps: u16,
    /// Picture to draw
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    look: Look,
    /// Print as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    interrupt::listen()?;
    let outputs = outputs([arguments.scenario.clone()]);
    let picture = outputs.optional(&arguments.out)?;
    let source = check::load(&arguments.scenario)?;
    let sweep = Sweep::parse(
        &arguments.field,
        &arguments.range,
        usize::from(arguments.steps),
    )?;
    let Some(found) = sensitivity(&source, &sweep)? else {
        let remedy = "sweep a scenario with a leak";
        return Err(Fault::new(
            arguments.scenario.display(),
            "the vehicle has no leak to follow",
            remedy,
        )
        .into());
    };
    interrupt::check("no picture was drawn")?;
    if let Some(picture) = picture {
        let title = arguments
            .scenario
            .file_stem()
            .map(|s| s.to_string_lossy().into_owned())
            .unwrap_or_default();
        let look = &arguments.look;
        let curves = found.curves(&title, look.units.into(), look.theme());
        picture.write(look.format.bytes(&curves)?)?;
    }
    if arguments.json {
        print_json(&found)?;
    } else {
        print(&found.table())?;
    }
    Ok(Outcome::Done)
}
