//! The sentence of physics under a verdict, from the capture's own numbers.
//!
//! Each kind of verdict has its own; the clauses that several share are in [`super::explanation`].

use super::explanation::{
    compressions, cylinders, is_pair, lag, lag_deg, leaks, list, mark, no_mark, train, trains,
    why_hidden,
};
use super::kind::Kind;
use super::verdict::{Finding, Reach, Shown, companion, degrees_between};
use crate::domain::{Call, CylinderSet};

/// Why a call is worth what it is, in one sentence.
pub(super) fn explain(call: &Call, finding: &Finding, shown: &Shown) -> String {
    let named = call.named();
    let sentence = match finding.kind {
        Kind::Right if named.is_empty() => none_is_right(shown),
        Kind::Right => settled(shown, named),
        Kind::RightPair => pair(shown, named),
        Kind::RightToBeUnsure => unsettled(shown),
        Kind::UnsureThoughShown => match shown.reach {
            Reach::Groups(_) => format!("the capture narrows it down: {}", what_shows(shown)),
            _ => format!("the capture settles it: {}", what_shows(shown)),
        },
        Kind::LessThanShown => less(shown, call),
        Kind::OneOfTwoLeaks => one_of_two(shown, call, named),
        Kind::MoreThanShown => more(shown, call, named),
        Kind::MissedLeak => missed(shown),
        Kind::NoLeakThere => no_leak_there(shown, finding, named),
        Kind::WeakCylinder => weak(shown, finding, named),
        Kind::CompanionCylinder
        | Kind::NeighbourAfter
        | Kind::NeighbourBefore
        | Kind::WrongCylinder => wrong(shown, finding),
        Kind::NoCall => "the capture was not called".into(),
    };
    let mut letters = sentence.chars();
    let first = letters
        .next()
        .map(|c| c.to_uppercase().to_string())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

fn none_is_right(shown: &Shown) -> String {
    if let Some(hidden) = shown.leaking.first() {
        return format!(
            "the capture shows no pulse that keeps step with a cylinder, so none is a fair reading \
             of it, although cylinder {hidden} leaks: {}",
            why_hidden(shown, hidden)
        );
    }
    let worn = match &shown.truth.weak_cylinders[..] {
        [] => String::new(),
        worn => format!(
            ", and the low hump of {} is wear, whose gas goes past the rings into the crankcase",
            cylinders(worn.iter().copied())
        ),
    };
    format!(
        "no pulse at the neck keeps step with any of {}{worn}",
        compressions(shown)
    )
}

fn settled(shown: &Shown, named: CylinderSet) -> String {
    let trains = trains(shown, named);
    if named.len() > 1 {
        return format!("{trains}, so that each train leads back to a cylinder of its own");
    }
    let leak = named.first().unwrap_or_default();
    let next = shown
        .truth
        .engine
        .neighbour(leak, 1)
        .filter(|next| *next != leak);
    let to_next = next.and_then(|next| degrees_between(&shown.truth.engine, leak, next));
    match (lag_deg(shown, leak), next, to_next) {
        (Some(lag), Some(next), Some(interval)) if lag >= interval => format!(
            "{trains}, which is past the TDC of cylinder {next}, {interval:.0} degrees on, so that \
             only stepping back by the lag leads to cylinder {leak}"
        ),
        (Some(_), Some(next), Some(interval)) => format!(
            "{trains}, before cylinder {next} reaches its own {interval:.0} degrees later, so that \
             stepping back by the lag leads to cylinder {leak}"
        ),
        _ => format!("{trains} and fit no other cylinder"),
    }
}

/// Why the pulses fit every cylinder of one group.
fn pair(shown: &Shown, group: CylinderSet) -> String {
    let names = cylinders(group.iter());
    let lag = (shown.visible & group).iter().find_map(|c| lag(shown, c));
    let pulses = lag.map_or("the pulses".into(), |lag| {
        format!("the pulses, {lag} behind,")
    });
    if is_pair(shown, group) {
        format!(
            "{names} reach top dead centre together, one on compression and the other on exhaust, \
             and {}, so that {pulses} may come from either and the capture allows no more",
            mark(shown)
        )
    } else {
        format!("{pulses} fit {names} alike, and the capture allows no more")
    }
}

/// Why the pulses fit every cylinder of each group.
fn narrowed(shown: &Shown, groups: &[CylinderSet]) -> String {
    match groups {
        [group] => pair(shown, *group),
        _ => format!(
            "the pulse trains come from {}, and which it is cannot be told, since {}",
            list(
                groups
                    .iter()
                    .map(|g| format!("one of {}", cylinders(g.iter())))
            ),
            mark(shown)
        ),
    }
}

fn unsettled(shown: &Shown) -> String {
    let hidden = (shown.leaking - shown.visible).first();
    match (&shown.reach, shown.visible.is_empty(), hidden) {
        (Reach::Groups(groups), false, _) => {
            format!("no one call fits: {}", narrowed(shown, groups))
        }
        (_, false, _) => format!("gas does pass, but {}", no_mark(shown)),
        (_, true, Some(c)) => format!(
            "no leak can be read here, although cylinder {c} has one: {}",
            why_hidden(shown, c)
        ),
        (_, true, None) => {
            "no cylinder leaks, but the capture could not have shown a leak either".into()
        }
    }
}

/// What a careful reader finds in the capture.
fn what_shows(shown: &Shown) -> String {
    match (&shown.reach, shown.visible.is_empty()) {
        (Reach::Call(set), _) => settled(shown, *set),
        (Reach::Groups(groups), _) => narrowed(shown, groups),
        (Reach::Nothing, true) => none_is_right(shown),
        (Reach::Nothing, false) => unsettled(shown),
    }
}

fn less(shown: &Shown, call: &Call) -> String {
    match &shown.reach {
        Reach::Call(set) => {
            format!(
                "{call} leaves open what the capture settles: {}",
                settled(shown, *set)
            )
        }
        _ => format!("{call} is wider than need be: {}", what_shows(shown)),
    }
}

fn one_of_two(shown: &Shown, call: &Call, named: CylinderSet) -> String {
    if matches!(call, Call::OneOf(_)) {
        let n = shown.visible.len();
        return format!(
            "{call} speaks of one leak, but there are {n}: {}",
            trains(shown, shown.visible)
        );
    }
    let others: CylinderSet = shown.visible - named;
    let size = |c| shown.truth.leak_of(c).map(|leak| leak.area_mm2);
    let areas = match (named.iter().find_map(size), others.iter().find_map(size)) {
        (Some(own), Some(other)) if other < own => format!(
            ", and lower, since a leak of {other:.3} mm² passes less gas than one of {own:.3} mm²"
        ),
        _ => String::new(),
    };
    let apart = match (named.first(), others.first()) {
        (Some(first), Some(other)) => degrees_between(&shown.truth.engine, first, other)
            .map(|deg| format!(", {deg:.0} crank degrees later in the cycle"))
            .unwrap_or_default(),
        _ => String::new(),
    };
    format!(
        "{}, but so {}{apart}: {}{areas}",
        leaks(named),
        match others.len() {
            1 => format!("does {}", cylinders(others.iter())),
            _ => format!("do {}", cylinders(others.iter())),
        },
        trains(shown, others)
    )
}

fn more(shown: &Shown, call: &Call, named: CylinderSet) -> String {
    let hidden = (shown.leaking - shown.visible).first();
    let named_hidden = named
        .iter()
        .find(|c| shown.leaking.contains(*c) && !shown.visible.contains(*c));
    let none_shows = shown.visible.is_empty();
    match (named_hidden, hidden) {
        (_, Some(c)) if named.is_empty() => format!(
            "a capture without pulses does not clear the engine: cylinder {c} does leak, but {}",
            why_hidden(shown, c)
        ),
        (_, None) if named.is_empty() => {
            "no cylinder leaks, but the capture could not have shown a leak, so it does not clear the \
             engine"
                .into()
        }
        (Some(c), _) if none_shows => format!(
            "cylinder {c} does leak, but nothing in this capture points to it: {}",
            why_hidden(shown, c)
        ),
        (None, Some(c)) if none_shows => format!(
            "no pulse in this capture points to {}; cylinder {c} does leak, but {}",
            cylinders(named.iter()),
            why_hidden(shown, c)
        ),
        (Some(c), _) if shown.reach != Reach::Nothing => format!(
            "cylinder {c} does leak, but nothing in this capture points to it, as {}; {}",
            why_hidden(shown, c),
            what_shows(shown)
        ),
        _ => match (&shown.reach, call) {
            (Reach::Nothing, _) => {
                let lucky = matches!(call, Call::All(_)) && named.is_subset(shown.leaking);
                let guess = if lucky { "a lucky guess" } else { "a guess" };
                format!("gas does pass, but {}, so that {call} is {guess}", no_mark(shown))
            }
            (Reach::Groups(groups), Call::All(_)) => {
                format!("{}, but that is more than can be told: {}", leaks(named), narrowed(shown, groups))
            }
            _ => format!("{call} rules out more than the capture does: {}", what_shows(shown)),
        },
    }
}

fn missed(shown: &Shown) -> String {
    let clear = shown
        .visible
        .iter()
        .find_map(|c| shown.truth.leak_of(c)?.pulse_over_noise);
    let clear = clear
        .map(|r| format!("at {r:.0} times the noise, "))
        .unwrap_or_default();
    format!(
        "{}; {clear}a pulse in every two revolutions, in step with a piston, is gas and not chance",
        trains(shown, shown.visible)
    )
}

fn no_leak_there(shown: &Shown, finding: &Finding, named: CylinderSet) -> String {
    let true_ones: CylinderSet = named & shown.leaking;
    let (Some(extra), Some(first)) = (finding.wrong, true_ones.first()) else {
        return format!(
            "no gas entered the coolant in {}: a leak would push a pulse after every one of its \
             cylinder's, one in 720 crank degrees",
            compressions(shown)
        );
    };
    let apart = degrees_between(&shown.truth.engine, first, extra)
        .map(|deg| format!(", {deg:.0} crank degrees after cylinder {first}"))
        .unwrap_or_default();
    format!(
        "{}, but cylinder {extra} is sound: its leak would add a pulse train of its own{apart}, and \
         the capture holds none there",
        leaks(true_ones)
    )
}

fn weak(shown: &Shown, finding: &Finding, named: CylinderSet) -> String {
    let is_weak = |c: &u32| shown.truth.weak_cylinders.contains(c);
    let worn: Vec<u32> = match finding.wrong {
        Some(wrong) => vec![wrong],
        None => named.iter().filter(is_weak).collect(),
    };
    let (verb, their) = if worn.len() == 1 {
        ("is", "its")
    } else {
        ("are", "their")
    };
    let instead = if shown.visible.is_empty() {
        format!("no pulse at the neck follows {their} compressions")
    } else {
        trains(shown, shown.visible)
    };
    format!(
        "{} {verb} worn, hence the low hump, but {their} gas goes past the rings into the crankcase, \
         not into the coolant; {instead}",
        cylinders(worn)
    )
}

/// The companion, a neighbour or another cylinder taken for the leak.
fn wrong(shown: &Shown, finding: &Finding) -> String {
    let engine = &shown.truth.engine;
    let (Some(wrong), Some(leak)) = (finding.wrong, finding.leak) else {
        return what_shows(shown);
    };
    let train = train(shown, leak);
    let lag = lag_deg(shown, leak);
    // Where a pair shows, the neighbour may be one of the leak's companion: count from there.
    let counted = |steps| {
        let own = (engine.neighbour(leak, steps) == Some(wrong)).then_some(leak);
        let start = own.or_else(|| companion(engine, leak))?;
        let (from, to) = if steps > 0 {
            (start, wrong)
        } else {
            (wrong, start)
        };
        let name = match own {
            Some(_) => format!("cylinder {leak}"),
            None => format!("cylinder {start}, the companion of the leaking cylinder {leak}"),
        };
        Some((name, degrees_between(engine, from, to)?))
    };
    match finding.kind {
        Kind::CompanionCylinder if matches!(shown.reach, Reach::Groups(_)) => format!(
            "cylinder {wrong} is the companion of the leaking cylinder {leak}: they reach top dead \
             centre together, and {}, so that to name either is a guess",
            mark(shown)
        ),
        Kind::CompanionCylinder => {
            let apart = lag.map(|lag| {
                format!(
                    ", which is {:.0} degrees after that of cylinder {wrong}",
                    lag + 360.0
                )
            });
            format!(
                "cylinders {leak} and {wrong} reach top dead centre together, but compress 360 crank \
                 degrees apart; {train}{}",
                apart.unwrap_or_default()
            )
        }
        Kind::NeighbourAfter => match (counted(1), lag) {
            (Some((start, interval)), Some(lag)) if lag > interval / 2.0 => {
                let place = if lag >= interval { "past" } else { "nearer to" };
                format!(
                    "{train}, {place} the TDC of cylinder {wrong}, {interval:.0} degrees after {start}, \
                     so that counting without the lag blames the neighbour after"
                )
            }
            (Some((start, interval)), _) => format!(
                "{train}; cylinder {wrong} does not compress until {interval:.0} degrees after {start}, \
                 and no pulse comes before the compression that drives it"
            ),
            (None, _) => format!("{train}, not those of cylinder {wrong}, which fires next"),
        },
        Kind::NeighbourBefore => match (counted(-1), lag) {
            (Some((start, interval)), Some(lag)) => format!(
                "{train}; cylinder {wrong} compresses {interval:.0} degrees before {start}, so that \
                 the lag would have to be {:.0} degrees",
                interval + lag
            ),
            (Some((start, interval)), None) => {
                format!("{train}; cylinder {wrong} compresses {interval:.0} degrees before {start}")
            }
            (None, _) => format!("{train}, not those of cylinder {wrong}, which fires before it"),
        },
        _ => match degrees_between(engine, leak, wrong) {
            Some(on) => format!(
                "{train}; cylinder {wrong} compresses {on:.0} degrees after cylinder {leak}, and no \
                 pulse follows it"
            ),
            None => format!("{train}, and none follows cylinder {wrong}"),
        },
    }
}
