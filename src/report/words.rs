//! What the page says of each kind of verdict.

use crate::grade::verdict::Kind;

/// The small print.
pub const FOOT: &str = "Synthetic captures of invented vehicles, rendered and graded by waterjacket. \
    Before any of this is done on a car, the vehicle maker's procedure, local codes and licensed \
    practice come first.";

/// What a kind of verdict means, and for a slip what would have helped (common practice).
pub fn meaning(kind: Kind) -> &'static str {
    match kind {
        Kind::Right => "All that the capture shows, and no more.",
        Kind::RightPair => "The pair; a mark every 360 degrees allows no more.",
        Kind::RightToBeUnsure => "The capture settles nothing, and the call says so.",
        Kind::OneOfTwoLeaks => {
            "A true part of the answer. After the first pulse train, look for a second one between \
             its pulses."
        }
        Kind::LessThanShown => {
            "True, but the capture says more. Use the second sync before leaving a choice open."
        }
        Kind::UnsureThoughShown => {
            "The capture settles it. Look for a pulse that comes back every 720 degrees."
        }
        Kind::MoreThanShown => {
            "True or not, the capture cannot show it. Ask what ties the pulse to one cylinder, and \
             whether gas passed at all."
        }
        Kind::CompanionCylinder => {
            "A revolution apart: exhaust taken for compression. Get a mark that comes once in 720 \
             degrees."
        }
        Kind::NeighbourAfter => {
            "The lag was not allowed for. Step back from the pulse by the lag before counting."
        }
        Kind::NeighbourBefore => {
            "More lag was allowed for than there is. Measure the lag, do not guess it."
        }
        Kind::WeakCylinder => {
            "A low hump is wear, whose gas goes into the crankcase. Only a pulse at the neck is a leak."
        }
        Kind::WrongCylinder => "Another cylinder. Count again from the sync, by the firing order.",
        Kind::NoLeakThere => {
            "A sound cylinder accused. Ask whether the waves keep step with a cylinder."
        }
        Kind::MissedLeak => {
            "Gas shows. A small pulse that keeps step with a piston is gas and not chance."
        }
        Kind::NoCall => "The capture was not called.",
    }
}
