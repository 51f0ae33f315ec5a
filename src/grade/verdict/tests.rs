//! Every kind of verdict, as a table of calls against one evidence; the snapshots are for reading.

use super::*;
use crate::grade::testing::{call, engine, four, six, truth, with_lag, with_weak};

/// Every call of a table against one truth; the sentences are returned for a closer look.
fn judge(truth: &Truth, table: &[(&str, Kind, f64)]) -> Vec<String> {
    let mut sentences = Vec::new();
    for (cylinders, kind, points) in table {
        let verdict = verdict(call(cylinders).cylinders, truth);
        assert_eq!(
            (verdict.kind, verdict.points),
            (*kind, *points),
            "{cylinders}: {}",
            verdict.sentence
        );
        sentences.push(verdict.sentence);
    }
    sentences
}

#[test]
fn one_leak_with_full_sync() {
    let said = judge(
        &truth(six(), Sync::Full, &[3], &[], &["3"]),
        &[
            ("3", Kind::Right, 1.0),
            ("4", Kind::CompanionCylinder, 0.0),
            ("6", Kind::NeighbourAfter, 0.0),
            ("5", Kind::NeighbourBefore, 0.0),
            ("1", Kind::WrongCylinder, 0.0),
            ("none", Kind::MissedLeak, 0.0),
            ("unsure", Kind::UnsureThoughShown, 0.25),
            ("3+4", Kind::NoLeakThere, 0.25),
            ("1+2+3+4", Kind::NoLeakThere, 0.125),
            ("6+1", Kind::NeighbourAfter, 0.0),
            ("3|4", Kind::LessThanShown, 0.5),
            ("1|2|3|4|5|6", Kind::LessThanShown, 1.0 / 6.0),
            ("4|2", Kind::CompanionCylinder, 0.0),
            ("6|4", Kind::CompanionCylinder, 0.0),
            ("9", Kind::WrongCylinder, 0.0),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 6 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 3.
    Cylinders 3 and 4 reach top dead centre together, but compress 360 crank degrees apart; the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, which is 381 degrees after that of cylinder 4.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 6 does not compress until 120 degrees after cylinder 3, and no pulse comes before the compression that drives it.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 5 compresses 120 degrees before cylinder 3, so that the lag would have to be 141 degrees.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 1 compresses 480 degrees after cylinder 3, and no pulse follows it.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; at 15 times the noise, a pulse in every two revolutions, in step with a piston, is gas and not chance.
    The capture settles it: the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 6 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 3.
    Cylinder 3 does leak, but cylinder 4 is sound: its leak would add a pulse train of its own, 360 crank degrees after cylinder 3, and the capture holds none there.
    Cylinder 3 does leak, but cylinder 1 is sound: its leak would add a pulse train of its own, 480 crank degrees after cylinder 3, and the capture holds none there.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 6 does not compress until 120 degrees after cylinder 3, and no pulse comes before the compression that drives it.
    3|4 leaves open what the capture settles: the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 6 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 3.
    1|2|3|4|5|6 leaves open what the capture settles: the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 6 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 3.
    Cylinders 3 and 4 reach top dead centre together, but compress 360 crank degrees apart; the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, which is 381 degrees after that of cylinder 4.
    Cylinders 3 and 4 reach top dead centre together, but compress 360 crank degrees apart; the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, which is 381 degrees after that of cylinder 4.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC, and none follows cylinder 9.
    "##);
}

#[test]
fn one_leak_with_a_mark_in_every_revolution() {
    let mut shared = truth(six(), Sync::Pair, &[2], &[], &["2|5"]);
    shared.engine.shared_coils = true;
    let said = judge(
        &shared,
        &[
            ("2|5", Kind::RightPair, 1.0),
            ("2", Kind::MoreThanShown, 0.5),
            ("5", Kind::CompanionCylinder, 0.0),
            ("2+5", Kind::NoLeakThere, 0.25),
            ("4", Kind::NeighbourAfter, 0.0),
            ("3", Kind::NeighbourAfter, 0.0),
            ("6", Kind::NeighbourBefore, 0.0),
            ("1", Kind::NeighbourBefore, 0.0),
            ("3|4", Kind::NeighbourAfter, 0.0),
            ("1|6", Kind::NeighbourBefore, 0.0),
            ("2|4", Kind::MoreThanShown, 0.25),
            ("2|4|5", Kind::LessThanShown, 2.0 / 3.0),
            ("none", Kind::MissedLeak, 0.0),
            ("unsure", Kind::UnsureThoughShown, 0.25),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    Cylinders 2 and 5 reach top dead centre together, one on compression and the other on exhaust, and a shared coil sparks both times, so that the pulses, 20 ms (21 crank degrees) behind, may come from either and the capture allows no more.
    Cylinder 2 does leak, but that is more than can be told: cylinders 2 and 5 reach top dead centre together, one on compression and the other on exhaust, and a shared coil sparks both times, so that the pulses, 20 ms (21 crank degrees) behind, may come from either and the capture allows no more.
    Cylinder 5 is the companion of the leaking cylinder 2: they reach top dead centre together, and a shared coil sparks both times, so that to name either is a guess.
    Cylinder 2 does leak, but cylinder 5 is sound: its leak would add a pulse train of its own, 360 crank degrees after cylinder 2, and the capture holds none there.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 4 does not compress until 120 degrees after cylinder 2, and no pulse comes before the compression that drives it.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 3 does not compress until 120 degrees after cylinder 5, the companion of the leaking cylinder 2, and no pulse comes before the compression that drives it.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 6 compresses 120 degrees before cylinder 2, so that the lag would have to be 141 degrees.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 1 compresses 120 degrees before cylinder 5, the companion of the leaking cylinder 2, so that the lag would have to be 141 degrees.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 3 does not compress until 120 degrees after cylinder 5, the companion of the leaking cylinder 2, and no pulse comes before the compression that drives it.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 1 compresses 120 degrees before cylinder 5, the companion of the leaking cylinder 2, so that the lag would have to be 141 degrees.
    2|4 rules out more than the capture does: cylinders 2 and 5 reach top dead centre together, one on compression and the other on exhaust, and a shared coil sparks both times, so that the pulses, 20 ms (21 crank degrees) behind, may come from either and the capture allows no more.
    2|4|5 is wider than need be: cylinders 2 and 5 reach top dead centre together, one on compression and the other on exhaust, and a shared coil sparks both times, so that the pulses, 20 ms (21 crank degrees) behind, may come from either and the capture allows no more.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; at 15 times the noise, a pulse in every two revolutions, in step with a piston, is gas and not chance.
    The capture narrows it down: cylinders 2 and 5 reach top dead centre together, one on compression and the other on exhaust, and a shared coil sparks both times, so that the pulses, 20 ms (21 crank degrees) behind, may come from either and the capture allows no more.
    "##);
}

#[test]
fn a_leak_without_sync() {
    let said = judge(
        &with_weak(truth(four(), Sync::None, &[3], &[], &["unsure"]), &[4]),
        &[
            ("unsure", Kind::RightToBeUnsure, 1.0),
            ("1|2|3|4", Kind::RightToBeUnsure, 1.0),
            ("3", Kind::MoreThanShown, 0.25),
            ("4", Kind::MoreThanShown, 0.0),
            ("3+4", Kind::MoreThanShown, 0.0),
            ("2|3", Kind::MoreThanShown, 0.125),
            ("1|2", Kind::MoreThanShown, 0.0),
            ("none", Kind::MissedLeak, 0.0),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from.
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from.
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from, so that 3 is a lucky guess.
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from, so that 4 is a guess.
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from, so that 3+4 is a guess.
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from, so that 2|3 is a guess.
    Gas does pass, but nothing in the capture marks a cylinder to count the firing order from, so that 1|2 is a guess.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; at 15 times the noise, a pulse in every two revolutions, in step with a piston, is gas and not chance.
    "##);
}

#[test]
fn no_leak() {
    let said = judge(
        &with_weak(truth(four(), Sync::Full, &[], &[], &["none"]), &[2]),
        &[
            ("none", Kind::Right, 1.0),
            ("unsure", Kind::UnsureThoughShown, 0.25),
            ("3", Kind::NoLeakThere, 0.0),
            ("3|4", Kind::NoLeakThere, 0.0),
            ("2", Kind::WeakCylinder, 0.0),
            ("2+3", Kind::NoLeakThere, 0.0),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    No pulse at the neck keeps step with any of the 24 compressions in the capture, and the low hump of cylinder 2 is wear, whose gas goes past the rings into the crankcase.
    The capture settles it: no pulse at the neck keeps step with any of the 24 compressions in the capture, and the low hump of cylinder 2 is wear, whose gas goes past the rings into the crankcase.
    No gas entered the coolant in the 24 compressions in the capture: a leak would push a pulse after every one of its cylinder's, one in 720 crank degrees.
    No gas entered the coolant in the 24 compressions in the capture: a leak would push a pulse after every one of its cylinder's, one in 720 crank degrees.
    Cylinder 2 is worn, hence the low hump, but its gas goes past the rings into the crankcase, not into the coolant; no pulse at the neck follows its compressions.
    No gas entered the coolant in the 24 compressions in the capture: a leak would push a pulse after every one of its cylinder's, one in 720 crank degrees.
    "##);

    // Without sync a low hump has no number either.
    let said = judge(
        &with_weak(truth(four(), Sync::None, &[], &[], &["unsure"]), &[2]),
        &[
            ("unsure", Kind::RightToBeUnsure, 1.0),
            ("none", Kind::MoreThanShown, 0.25),
            ("2", Kind::NoLeakThere, 0.0),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    No cylinder leaks, but the capture could not have shown a leak either.
    No cylinder leaks, but the capture could not have shown a leak, so it does not clear the engine.
    No gas entered the coolant in the 24 compressions in the capture: a leak would push a pulse after every one of its cylinder's, one in 720 crank degrees.
    "##);
}

#[test]
fn a_leak_that_passes_no_gas() {
    let said = judge(
        &with_weak(
            truth(four(), Sync::Full, &[], &[3], &["unsure", "none"]),
            &[4],
        ),
        &[
            ("unsure", Kind::RightToBeUnsure, 1.0),
            ("none", Kind::Right, 1.0),
            ("3", Kind::MoreThanShown, 0.25),
            ("2|3", Kind::MoreThanShown, 0.125),
            ("3+4", Kind::MoreThanShown, 0.0),
            ("1", Kind::MoreThanShown, 0.0),
            ("4", Kind::WeakCylinder, 0.0),
            ("1|2|3|4", Kind::MoreThanShown, 0.0625),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    No leak can be read here, although cylinder 3 has one: the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    The capture shows no pulse that keeps step with a cylinder, so none is a fair reading of it, although cylinder 3 leaks: the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    Cylinder 3 does leak, but nothing in this capture points to it: the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    Cylinder 3 does leak, but nothing in this capture points to it: the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    Cylinder 3 does leak, but nothing in this capture points to it: the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    No pulse in this capture points to cylinder 1; cylinder 3 does leak, but the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    Cylinder 4 is worn, hence the low hump, but its gas goes past the rings into the crankcase, not into the coolant; no pulse at the neck follows its compressions.
    Cylinder 3 does leak, but nothing in this capture points to it: the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    "##);
    let said = judge(
        &truth(four(), Sync::Full, &[], &[3], &["unsure"]),
        &[("none", Kind::MoreThanShown, 0.0)],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    A capture without pulses does not clear the engine: cylinder 3 does leak, but the leak lifts at 16.0 bar above the jacket and passed no gas while cranking.
    "##);
}

#[test]
fn a_visible_leak_beside_a_hidden_one() {
    let said = judge(
        &truth(six(), Sync::Full, &[2], &[4], &["2"]),
        &[
            ("2", Kind::Right, 1.0),
            ("4", Kind::MoreThanShown, 0.25),
            ("2+4", Kind::MoreThanShown, 0.5),
            ("2|4", Kind::LessThanShown, 0.5),
            ("4|1", Kind::MoreThanShown, 0.125),
            ("none", Kind::MissedLeak, 0.0),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 4 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 2.
    Cylinder 4 does leak, but nothing in this capture points to it, as the leak lifts at 16.0 bar above the jacket and passed no gas while cranking; the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 4 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 2.
    Cylinder 4 does leak, but nothing in this capture points to it, as the leak lifts at 16.0 bar above the jacket and passed no gas while cranking; the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 4 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 2.
    2|4 leaves open what the capture settles: the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 4 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 2.
    Cylinder 4 does leak, but nothing in this capture points to it, as the leak lifts at 16.0 bar above the jacket and passed no gas while cranking; the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC, before cylinder 4 reaches its own 120 degrees later, so that stepping back by the lag leads to cylinder 2.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC; at 15 times the noise, a pulse in every two revolutions, in step with a piston, is gas and not chance.
    "##);
    judge(
        &truth(six(), Sync::Pair, &[2], &[5], &["2|5"]),
        &[
            ("2|5", Kind::RightPair, 1.0),
            ("2", Kind::MoreThanShown, 0.5),
            ("5", Kind::MoreThanShown, 0.25),
            ("2+5", Kind::MoreThanShown, 0.5),
        ],
    );
}

#[test]
fn two_visible_leaks() {
    let mut two = truth(six(), Sync::Full, &[2, 5], &[], &["2+5"]);
    two.leaks[1].area_mm2 = 0.02;
    let said = judge(
        &two,
        &[
            ("2+5", Kind::Right, 1.0),
            ("2", Kind::OneOfTwoLeaks, 0.5),
            ("5", Kind::OneOfTwoLeaks, 0.5),
            ("2|5", Kind::OneOfTwoLeaks, 0.5),
            ("2|4", Kind::OneOfTwoLeaks, 0.25),
            ("2+3", Kind::NeighbourAfter, 0.5 / 3.0),
            ("2+5+6", Kind::NoLeakThere, 1.0 / 3.0),
            ("none", Kind::MissedLeak, 0.0),
            ("unsure", Kind::UnsureThoughShown, 0.25),
        ],
    );
    insta::assert_snapshot!(said.join("\n"), @r##"
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC and those of cylinder 5 rise 20 ms (21 crank degrees) after its own, so that each train leads back to a cylinder of its own.
    Cylinder 2 does leak, but so does cylinder 5, 360 crank degrees later in the cycle: the pulses of cylinder 5 rise 20 ms (21 crank degrees) after its compression TDC, and lower, since a leak of 0.020 mm² passes less gas than one of 0.050 mm².
    Cylinder 5 does leak, but so does cylinder 2, 360 crank degrees later in the cycle: the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC.
    2|5 speaks of one leak, but there are 2: the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC and those of cylinder 5 rise 20 ms (21 crank degrees) after its own.
    2|4 speaks of one leak, but there are 2: the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC and those of cylinder 5 rise 20 ms (21 crank degrees) after its own.
    The pulses of cylinder 5 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 3 does not compress until 120 degrees after cylinder 5, and no pulse comes before the compression that drives it.
    Cylinders 2 and 5 do leak, but cylinder 6 is sound: its leak would add a pulse train of its own, 600 crank degrees after cylinder 2, and the capture holds none there.
    The pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC and those of cylinder 5 rise 20 ms (21 crank degrees) after its own; at 15 times the noise, a pulse in every two revolutions, in step with a piston, is gas and not chance.
    The capture settles it: the pulses of cylinder 2 rise 20 ms (21 crank degrees) after its compression TDC and those of cylinder 5 rise 20 ms (21 crank degrees) after its own, so that each train leads back to a cylinder of its own.
    "##);
    judge(
        &truth(six(), Sync::Full, &[1, 2, 5], &[], &["1+2+5"]),
        &[
            ("1+2", Kind::OneOfTwoLeaks, 2.0 / 3.0),
            ("1|2", Kind::OneOfTwoLeaks, 1.0 / 3.0),
        ],
    );
}

#[test]
fn two_visible_leaks_with_a_mark_in_every_revolution() {
    // Companions: a pulse in every revolution, so that both can be told.
    judge(
        &truth(six(), Sync::Pair, &[2, 5], &[], &["2+5"]),
        &[
            ("2+5", Kind::Right, 1.0),
            ("2", Kind::OneOfTwoLeaks, 0.5),
            ("2|5", Kind::OneOfTwoLeaks, 0.5),
        ],
    );
    // Of two pairs each train can be narrowed, but no one call says so.
    for supported in [&["unsure"][..], &["unsure", "2|5", "3|4"]] {
        let said = judge(
            &truth(six(), Sync::Pair, &[2, 3], &[], supported),
            &[
                ("2+3", Kind::MoreThanShown, 0.5),
                ("2", Kind::MoreThanShown, 0.25),
                ("5", Kind::CompanionCylinder, 0.0),
                ("2|3", Kind::MoreThanShown, 0.5),
                ("2|5|6", Kind::LessThanShown, 1.0 / 3.0),
                ("unsure", Kind::RightToBeUnsure, 1.0),
            ],
        );
        insta::allow_duplicates! { insta::assert_snapshot!(said.join("\n"), @r##"
        Cylinders 2 and 3 do leak, but that is more than can be told: the pulse trains come from one of cylinders 2 and 5 and one of cylinders 3 and 4, and which it is cannot be told, since the sync marks every revolution alike.
        Cylinder 2 does leak, but that is more than can be told: the pulse trains come from one of cylinders 2 and 5 and one of cylinders 3 and 4, and which it is cannot be told, since the sync marks every revolution alike.
        Cylinder 5 is the companion of the leaking cylinder 2: they reach top dead centre together, and the sync marks every revolution alike, so that to name either is a guess.
        2|3 rules out more than the capture does: the pulse trains come from one of cylinders 2 and 5 and one of cylinders 3 and 4, and which it is cannot be told, since the sync marks every revolution alike.
        2|5|6 is wider than need be: the pulse trains come from one of cylinders 2 and 5 and one of cylinders 3 and 4, and which it is cannot be told, since the sync marks every revolution alike.
        No one call fits: the pulse trains come from one of cylinders 2 and 5 and one of cylinders 3 and 4, and which it is cannot be told, since the sync marks every revolution alike.
        "##) };
    }
    let unlisted = truth(six(), Sync::Pair, &[2, 3], &[], &["unsure"]);
    judge(
        &unlisted,
        &[
            ("2|5", Kind::OneOfTwoLeaks, 0.5),
            ("3|4", Kind::OneOfTwoLeaks, 0.5),
        ],
    );
}

#[test]
fn the_likeliest_way_to_a_wrong_cylinder_names_it() {
    let one = |lag| with_lag(truth(six(), Sync::Full, &[3], &[], &["3"]), lag);
    let mut said = Vec::new();
    // The neighbour after is worn too: the lag decides which drew the eye. Half of 120 degrees is 60.
    said.extend(judge(
        &with_weak(one(57.0), &[6]),
        &[("6", Kind::WeakCylinder, 0.0)],
    ));
    said.extend(judge(
        &with_weak(one(63.0), &[6]),
        &[("6", Kind::NeighbourAfter, 0.0)],
    ));
    said.extend(judge(
        &one(131.0),
        &[("6", Kind::NeighbourAfter, 0.0), ("3", Kind::Right, 1.0)],
    ));
    // A worn companion, a worn cylinder besides the leak, and a worn one far off.
    said.extend(judge(
        &with_weak(one(57.0), &[4]),
        &[("4", Kind::WeakCylinder, 0.0)],
    ));
    said.extend(judge(
        &with_weak(one(57.0), &[1, 2]),
        &[("3+1", Kind::WeakCylinder, 0.25)],
    ));
    said.extend(judge(
        &with_weak(one(57.0), &[1, 2]),
        &[("1+2", Kind::WeakCylinder, 0.0)],
    ));
    // An even-firing twin: the companion is both neighbours.
    let twin = |lag| with_lag(truth(engine(&[1, 2]), Sync::Full, &[1], &[], &["1"]), lag);
    said.extend(judge(&twin(40.0), &[("2", Kind::CompanionCylinder, 0.0)]));
    said.extend(judge(&twin(200.0), &[("2", Kind::NeighbourAfter, 0.0)]));
    // A three has no companions, but two neighbours.
    let three = truth(engine(&[1, 3, 2]), Sync::Pair, &[3], &[], &["3"]);
    said.extend(judge(
        &three,
        &[
            ("2", Kind::NeighbourAfter, 0.0),
            ("1", Kind::NeighbourBefore, 0.0),
        ],
    ));
    // A single has no neighbour.
    said.extend(judge(
        &truth(engine(&[1]), Sync::Full, &[1], &[], &["1"]),
        &[("1", Kind::Right, 1.0)],
    ));
    insta::assert_snapshot!(said.join("\n"), @r##"
    Cylinder 6 is worn, hence the low hump, but its gas goes past the rings into the crankcase, not into the coolant; the pulses of cylinder 3 rise 54 ms (57 crank degrees) after its compression TDC.
    The pulses of cylinder 3 rise 60 ms (63 crank degrees) after its compression TDC, nearer to the TDC of cylinder 6, 120 degrees after cylinder 3, so that counting without the lag blames the neighbour after.
    The pulses of cylinder 3 rise 125 ms (131 crank degrees) after its compression TDC, past the TDC of cylinder 6, 120 degrees after cylinder 3, so that counting without the lag blames the neighbour after.
    The pulses of cylinder 3 rise 125 ms (131 crank degrees) after its compression TDC, which is past the TDC of cylinder 6, 120 degrees on, so that only stepping back by the lag leads to cylinder 3.
    Cylinder 4 is worn, hence the low hump, but its gas goes past the rings into the crankcase, not into the coolant; the pulses of cylinder 3 rise 54 ms (57 crank degrees) after its compression TDC.
    Cylinder 1 is worn, hence the low hump, but its gas goes past the rings into the crankcase, not into the coolant; the pulses of cylinder 3 rise 54 ms (57 crank degrees) after its compression TDC.
    Cylinder 1 is worn, hence the low hump, but its gas goes past the rings into the crankcase, not into the coolant; the pulses of cylinder 3 rise 54 ms (57 crank degrees) after its compression TDC.
    Cylinders 1 and 2 reach top dead centre together, but compress 360 crank degrees apart; the pulses of cylinder 1 rise 38 ms (40 crank degrees) after its compression TDC, which is 400 degrees after that of cylinder 2.
    The pulses of cylinder 1 rise 190 ms (200 crank degrees) after its compression TDC, nearer to the TDC of cylinder 2, 360 degrees after cylinder 1, so that counting without the lag blames the neighbour after.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 2 does not compress until 240 degrees after cylinder 3, and no pulse comes before the compression that drives it.
    The pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC; cylinder 1 compresses 240 degrees before cylinder 3, so that the lag would have to be 261 degrees.
    The pulses of cylinder 1 rise 20 ms (21 crank degrees) after its compression TDC and fit no other cylinder.
    "##);
}

#[test]
fn a_leak_hidden_in_noise_or_without_numbers_has_a_sentence_too() {
    let mut noisy = truth(four(), Sync::Full, &[], &[3], &["unsure"]);
    noisy.mode = crate::domain::Mode::Idle;
    let mut said = judge(&noisy, &[("3", Kind::MoreThanShown, 0.25)]);
    let leak = &mut noisy.leaks[0];
    (leak.events, leak.gas_in_mg, leak.pulse_over_noise) = (9, 1.5, Some(0.7));
    said.extend(judge(&noisy, &[("3", Kind::MoreThanShown, 0.25)]));
    noisy.leaks[0].pulse_over_noise = None;
    said.extend(judge(&noisy, &[("3", Kind::MoreThanShown, 0.25)]));
    noisy.leaks.clear();
    said.extend(judge(&noisy, &[("3", Kind::MoreThanShown, 0.25)]));

    let mut bare = truth(four(), Sync::Full, &[3], &[], &["3"]);
    bare.leaks.clear();
    bare.tdcs.clear();
    bare.engine.firing_intervals_deg.clear();
    said.extend(judge(
        &bare,
        &[
            ("3", Kind::Right, 1.0),
            ("4", Kind::NeighbourAfter, 0.0),
            ("1", Kind::NeighbourBefore, 0.0),
            ("2", Kind::WrongCylinder, 0.0),
            ("none", Kind::MissedLeak, 0.0),
        ],
    ));
    insta::assert_snapshot!(said.join("\n"), @r##"
    Cylinder 3 does leak, but nothing in this capture points to it: the leak lifts at 16.0 bar above the jacket and passed no gas at idle.
    Cylinder 3 does leak, but nothing in this capture points to it: the leak passed 1.5 mg of gas, but its pulses, 0.7 times the noise, cannot be told.
    Cylinder 3 does leak, but nothing in this capture points to it: the leak passed 1.5 mg of gas, but no sensor shows it.
    Cylinder 3 does leak, but nothing in this capture points to it: no pulse shows it at idle.
    The pulses follow the compressions of cylinder 3 and fit no other cylinder.
    The pulses follow the compressions of cylinder 3, not those of cylinder 4, which fires next.
    The pulses follow the compressions of cylinder 3, not those of cylinder 1, which fires before it.
    The pulses follow the compressions of cylinder 3, and none follows cylinder 2.
    The pulses follow the compressions of cylinder 3; a pulse in every two revolutions, in step with a piston, is gas and not chance.
    "##);
}
