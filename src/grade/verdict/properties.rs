//! What holds for any call against any evidence, consistent or not.

use super::*;
use crate::grade::testing::{four, six, truth, with_lag, with_weak};
use proptest::prelude::*;

/// Any evidence, consistent or not, of an engine of four or six.
fn any_truth() -> impl Strategy<Value = Truth> {
    let some = || proptest::collection::btree_set(1u32..7, 0..3);
    let supported =
        proptest::sample::subsequence(vec!["3", "2|5", "1|4", "2+5", "none", "unsure", "7"], 0..4);
    let sync = proptest::sample::select(vec![Sync::Full, Sync::Pair, Sync::None]);
    (
        any::<bool>(),
        sync,
        some(),
        some(),
        some(),
        supported.prop_shuffle(),
        0.0..300.0f64,
    )
        .prop_map(|(is_four, sync, visible, hidden, weak, supported, lag)| {
            let plate = if is_four { four() } else { six() };
            let visible: Vec<u32> = visible.into_iter().collect();
            let hidden: Vec<u32> = hidden.into_iter().collect();
            let weak: Vec<u32> = weak.into_iter().collect();
            with_lag(
                with_weak(truth(plate, sync, &visible, &hidden, &supported), &weak),
                lag,
            )
        })
}

fn any_call() -> impl Strategy<Value = Call> {
    prop_oneof![
        proptest::sample::select(vec![
            "none",
            "unsure",
            "1|2|3|4",
            "1|2|3|4|5|6",
            "2|5",
            "1|4"
        ])
        .prop_map(|text: &str| text.parse().unwrap()),
        proptest::collection::btree_set(1u32..9, 1..5)
            .prop_map(|set| Call::All(set.into_iter().collect())),
        proptest::collection::btree_set(1u32..9, 2..5)
            .prop_map(|set| Call::OneOf(set.into_iter().collect())),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn a_perfect_call_scores_in_full(truth in any_truth()) {
        for supported in &truth.evidence.supported {
            let verdict = verdict(*supported, &truth);
            prop_assert_eq!(verdict.points, 1.0);
            prop_assert!(matches!(
                verdict.kind,
                Kind::Right | Kind::RightPair | Kind::RightToBeUnsure
            ));
        }
    }

    #[test]
    fn only_right_kinds_score_in_full(truth in any_truth(), call in any_call()) {
        let verdict = verdict(call, &truth);
        prop_assert!((0.0..=1.0).contains(&verdict.points), "{verdict:?}");
        let right = matches!(verdict.kind, Kind::Right | Kind::RightPair | Kind::RightToBeUnsure);
        prop_assert_eq!(verdict.points == 1.0, right, "{:?}", verdict);
    }

    #[test]
    fn a_sentence_is_one_sentence(truth in any_truth(), call in any_call()) {
        let sentence = verdict(call, &truth).sentence;
        prop_assert!(sentence.ends_with('.') && !sentence.contains(". "), "{sentence}");
        prop_assert!(sentence.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit()));
        prop_assert!(!sentence.contains("NaN") && !sentence.contains("  "), "{sentence}");
        prop_assert!(!sentence.contains("cylinders ,") && !sentence.contains("cylinder 0"), "{sentence}");
    }
}
