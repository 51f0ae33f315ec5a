//! Verdicts: what a call is worth against what its capture lets a careful reader say.
//!
//! The evidence decides, not the vehicle alone. A call that the evidence supports scores in full;
//! every other is worth what a workshop could do with it, and with four cylinders or more no guess at
//! one pays better than honesty:
//!
//! | call | points | why |
//! |---|---|---|
//! | supported by the evidence | 1 | all that the capture shows, and no more |
//! | some of several leaks | share of the leaks named | a true part of the answer |
//! | one of a group, where one can be named | what a guess among the group would earn on average | so that neither guessing nor holding back pays |
//! | a group wider than the pair shown | pair's size over the group's | true, and that much less use |
//! | true, but beyond the pair shown | 1/2 | a coin toss between the pair, so 1/4 on average, as for unsure |
//! | true, but the capture cannot name a cylinder | 1/4 | nothing but luck |
//! | the leak, and sound cylinders besides | half the share of it that is true | a sound cylinder accused is work and money lost |
//! | unsure, though the capture shows it | 1/4 | what guessing earns in an engine of four; better than a wrong teardown |
//! | the wrong cylinder, a leak where none is, none where gas passes | 0 | the wrong repair, however near the count came |
//!
//! "Share" is the number of leaking cylinders named over the number of cylinders named or visible.

use super::kind::Kind;
use super::sentence;
use crate::domain::{Call, CylinderSet, EngineData, Sync, Truth};
use serde::Serialize;

/// What a call was worth, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// What kind of call it was.
    pub kind: Kind,
    /// 0 to 1.
    pub points: f64,
    /// One sentence of physics, with the capture's own numbers; empty where none is asked for.
    pub sentence: String,
}

/// Judges a call by the truth of its capture.
///
/// Total: a cylinder that the engine does not have is a wrong one ([`super::grader`] reports it beforehand).
pub fn verdict(call: Call, truth: &Truth) -> Verdict {
    let shown = Shown::of(truth);
    let finding = shown.judge(&call);
    Verdict {
        sentence: sentence::explain(&call, &finding, &shown),
        ..Verdict::from(finding)
    }
}

/// The same without the sentence: for calls by the million.
pub fn judge(call: Call, truth: &Truth) -> Verdict {
    Shown::of(truth).judge(&call).into()
}

impl From<Finding> for Verdict {
    fn from(finding: Finding) -> Self {
        Verdict {
            kind: finding.kind,
            points: finding.points,
            sentence: String::new(),
        }
    }
}

/// How far the capture can be read.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reach {
    /// To these cylinders.
    Call(CylinderSet),
    /// To one cylinder of each of these groups (a pair of companions for each pulse train).
    Groups(Vec<CylinderSet>),
    /// To no cylinder.
    Nothing,
}

/// A truth as the graders see it.
pub(super) struct Shown<'t> {
    pub truth: &'t Truth,
    pub visible: CylinderSet,
    /// Visible or not.
    pub leaking: CylinderSet,
    pub reach: Reach,
}

/// A judgement that still lacks its sentence.
pub(super) struct Finding {
    pub kind: Kind,
    pub points: f64,
    /// The cylinder wrongly accused, and the leak whose pulses were laid to it, where it matters.
    pub wrong: Option<u32>,
    pub leak: Option<u32>,
}

fn found(kind: Kind, points: f64) -> Finding {
    Finding {
        kind,
        points,
        wrong: None,
        leak: None,
    }
}

impl<'t> Shown<'t> {
    pub(super) fn of(truth: &'t Truth) -> Self {
        let evidence = &truth.evidence;
        let supported = &evidence.supported;
        let named = supported.iter().find_map(|call| match call {
            Call::All(set) => Some(*set),
            _ => None,
        });
        // A cylinder that a supported call names is one that shows.
        let visible = evidence.visible | named.unwrap_or_default();
        let leaking = evidence.hidden | visible;
        let mut groups: Vec<CylinderSet> = supported
            .iter()
            .filter_map(|call| match call {
                Call::OneOf(set) => Some(*set),
                _ => None,
            })
            .collect();
        // Two pulse trains of different pairs have no call of their own, yet each can be narrowed.
        if groups.is_empty() && evidence.sync == Sync::Pair && visible.len() > 1 {
            let pair = |c| Some(CylinderSet::from([c, companion(&truth.engine, c)?]));
            groups = visible.iter().filter_map(pair).collect();
            groups.sort_unstable();
            groups.dedup();
        }
        let reach = match named {
            Some(set) => Reach::Call(set),
            None if !groups.is_empty() => Reach::Groups(groups),
            None => Reach::Nothing,
        };
        Shown {
            truth,
            visible,
            leaking,
            reach,
        }
    }

    /// The table of calls against evidence; the first line that fits decides.
    fn judge(&self, call: &Call) -> Finding {
        use Call::{All, NoLeak, OneOf, Unsure};
        let shows = !self.visible.is_empty();
        match (call, &self.reach) {
            (call, _) if self.truth.evidence.supported.contains(call) => found(right(call), 1.0),
            (Unsure, _) => found(Kind::UnsureThoughShown, 0.25),

            (NoLeak, _) if shows => found(Kind::MissedLeak, 0.0),
            // True of the engine by luck, or untrue of it; the capture could not tell.
            (NoLeak, _) if self.leaking.is_empty() => found(Kind::MoreThanShown, 0.25),
            (NoLeak, _) => found(Kind::MoreThanShown, 0.0),

            (All(named) | OneOf(named), _) if self.leaking.is_empty() => {
                found(self.accused(*named, self.can_place()), 0.0)
            }

            // "One of them all" says that gas passes and no more, which is all that shows.
            (OneOf(named), Reach::Nothing) if shows && self.is_whole_engine(*named) => {
                found(Kind::RightToBeUnsure, 1.0)
            }
            (All(named) | OneOf(named), Reach::Nothing) => self.unreachable(call, *named),

            (All(named), _) => self.all(*named),
            (OneOf(group), Reach::Call(shown)) => self.group_for_named(*group, *shown),
            (OneOf(group), Reach::Groups(shown)) => self.group_for_groups(*group, shown),
        }
    }

    /// Cylinders named from a capture that can name none, of an engine that leaks.
    fn unreachable(&self, call: &Call, named: CylinderSet) -> Finding {
        let lucky = share(named, self.leaking);
        if lucky == 0.0 && self.can_place() && self.is_weak(named) {
            return found(Kind::WeakCylinder, 0.0);
        }
        let points = match call {
            Call::All(_) if lucky < 1.0 => 0.0,
            Call::All(_) => 0.25 * self.covered(named),
            _ => 0.25 * lucky,
        };
        found(Kind::MoreThanShown, points)
    }

    /// Cylinders said to leak, each of them, where the capture narrows the leaks down.
    fn all(&self, named: CylinderSet) -> Finding {
        let sound: CylinderSet = named - self.leaking;
        let missed: CylinderSet = self.visible - named;
        let covered = self.covered(named);
        match (sound.first(), missed.first()) {
            (None, _) => match &self.reach {
                Reach::Call(shown) if named.is_subset(*shown) => {
                    found(Kind::OneOfTwoLeaks, covered)
                }
                _ => found(Kind::MoreThanShown, 0.5 * covered),
            },
            (Some(extra), None) if covered > 0.0 => Finding {
                wrong: Some(extra),
                ..found(self.accused(sound, true), 0.5 * covered)
            },
            (Some(_), _) => self.mistake(sound, missed, 0.5 * covered),
        }
    }

    /// One of a group, where the capture shows the cylinders.
    fn group_for_named(&self, group: CylinderSet, shown: CylinderSet) -> Finding {
        let guess = share(group, shown) / shown.len().max(1) as f64;
        match shown.len() {
            _ if guess == 0.0 => self.group_beside(group),
            1 => found(Kind::LessThanShown, guess),
            _ => found(Kind::OneOfTwoLeaks, guess),
        }
    }

    /// One of a group, where the capture narrows each leak to a group.
    fn group_for_groups(&self, group: CylinderSet, shown: &[CylinderSet]) -> Finding {
        let trains = shown.len().max(self.visible.len()) as f64;
        if shown.contains(&group) {
            return found(Kind::OneOfTwoLeaks, 1.0 / trains);
        }
        match shown.iter().find(|narrow| narrow.is_subset(group)) {
            Some(narrow) => found(Kind::LessThanShown, share(group, *narrow) / trains),
            None if !(group & self.visible).is_empty() => {
                found(Kind::MoreThanShown, 0.5 * share(group, self.visible))
            }
            None => self.group_beside(group),
        }
    }

    /// One of a group in which no visible leak is.
    fn group_beside(&self, group: CylinderSet) -> Finding {
        match share(group, self.leaking) {
            0.0 => self.mistake(group, self.visible, 0.0),
            lucky => found(Kind::MoreThanShown, 0.25 * lucky),
        }
    }

    /// Sound cylinders taken for leaks that were missed: the likeliest way there, by this order.
    ///
    /// 1. The neighbour after, where the lag is more than half way to its TDC. The pulse then stands
    ///    nearer to the neighbour's TDC than to its own, which misleads whoever does not step back
    ///    by the lag, worn neighbour or not.
    /// 2. A weak cylinder: with less lag the pulse points to the leak, so it was the low hump that
    ///    drew the eye, wherever that cylinder fires.
    /// 3. The companion: where it is also a neighbour (an even-firing twin) the lag is too short to
    ///    explain it (1), and taking exhaust for compression remains.
    /// 4. The neighbour after at a shorter lag, before the neighbour before: a lag always delays, so
    ///    that where one cylinder is both, after is the likelier slip.
    ///
    /// Where only a pair shows, whoever counts starts from either of its cylinders, so a neighbour of
    /// one is a neighbour.
    fn mistake(&self, sound: CylinderSet, missed: CylinderSet, points: f64) -> Finding {
        let engine = &self.truth.engine;
        let relation = |wrong: u32, leak: u32| {
            let pair = companion(engine, leak);
            let from = |start: u32, steps| engine.neighbour(start, steps) == Some(wrong);
            let counted = |steps| {
                let also = pair.filter(|_| matches!(self.reach, Reach::Groups(_)));
                from(leak, steps) || also.is_some_and(|other| from(other, steps))
            };
            if counted(1) && self.lag_misleads(leak) {
                (1, Kind::NeighbourAfter)
            } else if self.truth.weak_cylinders.contains(&wrong) {
                (2, Kind::WeakCylinder)
            } else if pair == Some(wrong) {
                (3, Kind::CompanionCylinder)
            } else if counted(1) {
                (4, Kind::NeighbourAfter)
            } else if counted(-1) {
                (5, Kind::NeighbourBefore)
            } else {
                (6, Kind::WrongCylinder)
            }
        };
        let wrongs = sound
            .iter()
            .flat_map(|w| missed.iter().map(move |l| (w, l)));
        match wrongs.map(|(w, l)| (relation(w, l), w, l)).min() {
            Some(((_, kind), wrong, leak)) => Finding {
                kind,
                points,
                wrong: Some(wrong),
                leak: Some(leak),
            },
            None => found(Kind::WrongCylinder, points),
        }
    }

    /// Whether the pulses of a leak stand nearer to the next TDC than to their own.
    fn lag_misleads(&self, leak: u32) -> bool {
        let lag = self.truth.leak_of(leak).and_then(|leak| leak.lag_deg);
        let next = self.truth.engine.neighbour(leak, 1);
        let interval = next.and_then(|next| degrees_between(&self.truth.engine, leak, next));
        lag.zip(interval)
            .is_some_and(|(lag, interval)| lag > interval / 2.0)
    }

    /// Leaking cylinders named, over cylinders named or visible.
    fn covered(&self, named: CylinderSet) -> f64 {
        (named & self.leaking).len() as f64 / (named | self.visible).len().max(1) as f64
    }

    /// Whether something in the capture ties a hump to a cylinder.
    fn can_place(&self) -> bool {
        self.truth.evidence.sync != Sync::None
    }

    /// The kind of a call of sound cylinders; wear counts only if the capture can show whose hump is low.
    fn accused(&self, sound: CylinderSet, placed: bool) -> Kind {
        if placed && self.is_weak(sound) {
            Kind::WeakCylinder
        } else {
            Kind::NoLeakThere
        }
    }

    fn is_weak(&self, named: CylinderSet) -> bool {
        named.iter().all(|c| self.truth.weak_cylinders.contains(&c))
    }

    fn is_whole_engine(&self, named: CylinderSet) -> bool {
        self.truth
            .engine
            .firing_order
            .iter()
            .all(|c| named.contains(*c))
    }
}

/// The kind of a supported call.
fn right(call: &Call) -> Kind {
    match call {
        Call::All(_) | Call::NoLeak => Kind::Right,
        Call::OneOf(_) => Kind::RightPair,
        Call::Unsure => Kind::RightToBeUnsure,
    }
}

/// How much of a group is within another.
fn share(group: CylinderSet, other: CylinderSet) -> f64 {
    (group & other).len() as f64 / group.len().max(1) as f64
}

/// Crank degrees from the compression TDC of one cylinder to the next one of another, 0 to 720.
pub(super) fn degrees_between(engine: &EngineData, from: u32, to: u32) -> Option<f64> {
    // A plate from a file may lack intervals, and `tdc_deg` counts on them.
    if engine.firing_intervals_deg.len() < engine.firing_order.len() {
        return None;
    }
    Some((engine.tdc_deg(to)? - engine.tdc_deg(from)?).rem_euclid(720.0))
}

/// The cylinder a revolution apart, where the crank has one.
pub(super) fn companion(engine: &EngineData, cylinder: u32) -> Option<u32> {
    degrees_between(engine, cylinder, cylinder)?;
    engine.companion(cylinder)
}

#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;
