//! The kinds of verdicts.

use serde::Serialize;
use std::fmt;

/// What kind of call it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The cylinder, the cylinders or the absence of a leak, as the capture shows.
    Right,
    /// The pair, of which the capture cannot tell more.
    RightPair,
    /// Unsure of a capture that settles nothing.
    RightToBeUnsure,
    /// Some of the leaks that show, or one of them where several do.
    OneOfTwoLeaks,
    /// A group of cylinders where the capture shows which, or a smaller group.
    LessThanShown,
    /// Unsure of a capture that settles it.
    UnsureThoughShown,
    /// True or not, the capture cannot show it: no sync, a shared one, or no gas passed.
    MoreThanShown,
    /// The cylinder a revolution apart from the leaking one.
    CompanionCylinder,
    /// The cylinder that fires next: the lag was not allowed for.
    NeighbourAfter,
    /// The cylinder that fires before: more lag was allowed for than there is.
    NeighbourBefore,
    /// A worn cylinder taken for the leak.
    WeakCylinder,
    /// Another wrong cylinder.
    WrongCylinder,
    /// A leak where none is, alone or beside a true one.
    NoLeakThere,
    /// No leak called where one shows.
    MissedLeak,
    /// The capture was not called.
    NoCall,
}

impl Kind {
    /// Whether such a call scores in full; no other kind does.
    pub fn is_right(self) -> bool {
        matches!(self, Kind::Right | Kind::RightPair | Kind::RightToBeUnsure)
    }

    /// What a table calls it.
    pub fn label(self) -> &'static str {
        match self {
            Kind::Right => "right",
            Kind::RightPair => "right pair",
            Kind::RightToBeUnsure => "right to be unsure",
            Kind::OneOfTwoLeaks => "one of two leaks",
            Kind::LessThanShown => "less than it shows",
            Kind::UnsureThoughShown => "unsure though it shows",
            Kind::MoreThanShown => "more than it can show",
            Kind::CompanionCylinder => "companion cylinder",
            Kind::NeighbourAfter => "neighbour after",
            Kind::NeighbourBefore => "neighbour before",
            Kind::WeakCylinder => "weak cylinder",
            Kind::WrongCylinder => "wrong cylinder",
            Kind::NoLeakThere => "leak where none is",
            Kind::MissedLeak => "missed leak",
            Kind::NoCall => "no call",
        }
    }

    /// What a kind of verdict means, and for a slip what would have helped (common practice).
    pub fn meaning(self) -> &'static str {
        match self {
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
            Kind::WrongCylinder => {
                "Another cylinder. Count again from the sync, by the firing order."
            }
            Kind::NoLeakThere => {
                "A sound cylinder accused. Ask whether the waves keep step with a cylinder."
            }
            Kind::MissedLeak => {
                "Gas shows. A small pulse that keeps step with a piston is gas and not chance."
            }
            Kind::NoCall => "The capture was not called.",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.label())
    }
}
