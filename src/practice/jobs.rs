//! The jobs that ship with the program.

use super::order::shown;
use crate::error::{Fault, Faults, nearest};
use crate::scenario::{JobDrawn, JobSource};

/// Name and text of every shipped job, from plain to nasty.
const SHIPPED: &[(&str, &str)] = &[
    (
        "hill-road",
        include_str!("../../scenarios/jobs/hill-road.yaml"),
    ),
    (
        "market-van",
        include_str!("../../scenarios/jobs/market-van.yaml"),
    ),
    (
        "shy-coupe",
        include_str!("../../scenarios/jobs/shy-coupe.yaml"),
    ),
    (
        "gurgling-heater",
        include_str!("../../scenarios/jobs/gurgling-heater.yaml"),
    ),
    (
        "long-hoses",
        include_str!("../../scenarios/jobs/long-hoses.yaml"),
    ),
    (
        "uneven-six",
        include_str!("../../scenarios/jobs/uneven-six.yaml"),
    ),
    (
        "only-uphill",
        include_str!("../../scenarios/jobs/only-uphill.yaml"),
    ),
    (
        "twice-mended",
        include_str!("../../scenarios/jobs/twice-mended.yaml"),
    ),
];

/// Names of the shipped jobs, from plain to nasty.
pub fn names() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().map(|job| job.0)
}

/// Draws the shipped job `name`; `seed` brings another vehicle.
///
/// # Errors
/// An unknown name, with the nearest right one.
pub fn draw(name: &str, seed: Option<u64>) -> Result<JobDrawn, Faults> {
    match SHIPPED.iter().find(|job| job.0 == name) {
        Some((name, text)) => JobSource::parse(name, text.as_bytes())?.draw(seed),
        None => {
            let remedy = match nearest(name, names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "`waterjacket practice list` shows them".into(),
            };
            Err(Fault::new("job", format!("there is no job {}", shown(name)), remedy).into())
        }
    }
}
