//! Fewer points, the same picture: least and greatest value of each pixel column.

use super::Trace;

/// Time (s) and value of the points that draw `trace` from `span_s[0]` to `span_s[1]`, in order of
/// time.
///
/// As long as two points a column are not exceeded, every sample is kept; beyond, each column keeps
/// its least and its greatest sample, so that no peak is lost. Where these are the column's ends, a
/// slope stays a slope; else both stand at the column's middle, the one nearer to the column before
/// first, so that the column is one upright stroke with a short link to the next. Where the trace runs
/// on beyond an end of the span, it is cut there by interpolation, so that it reaches the edge.
pub(super) fn reduce(trace: &Trace, span_s: [f64; 2], columns: usize) -> Vec<(f64, f64)> {
    let len = trace.values.len();
    let rate = trace.sample_rate_hz;
    let point = |i: usize| (i as f64 / rate, f64::from(trace.values[i]));

    // Samples from `from` up to but without `to` lie in the span; a cast of a float saturates.
    let from = ((span_s[0] * rate).ceil().max(0.0) as usize).min(len);
    let to = (((span_s[1] * rate).floor() + 1.0).max(0.0) as usize).clamp(from, len);

    let cut = |before: usize, at: f64| {
        let (a, b) = (point(before), point(before + 1));
        let share = ((at - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
        (at, a.1 + share * (b.1 - a.1))
    };
    let mut points = Vec::new();
    if from > 0 && from < len {
        points.push(cut(from - 1, span_s[0]));
    }
    let samples = to - from;
    let columns = columns.max(1);
    if samples <= 2 * columns {
        points.extend((from..to).map(point));
    } else {
        for column in 0..columns {
            let first = from + samples * column / columns;
            let last = from + samples * (column + 1) / columns;
            let [low, high] = extremes(&trace.values[first..last]);
            let ends = [point(first), point(last - 1)];
            if ends[0].1.min(ends[1].1) == low && ends[0].1.max(ends[1].1) == high {
                points.extend(ends);
                continue;
            }
            let before = points.last().map_or(low, |p: &(f64, f64)| p.1);
            let at = (ends[0].0 + ends[1].0) / 2.0;
            let near_first = if before - low <= high - before {
                [low, high]
            } else {
                [high, low]
            };
            points.extend(near_first.map(|v| (at, v)));
        }
    }
    if to > 0 && to < len {
        points.push(cut(to - 1, span_s[1]));
    }
    points
}

/// The least and the greatest of some values.
fn extremes(values: &[f32]) -> [f64; 2] {
    let least = values.iter().copied().fold(f32::INFINITY, f32::min);
    let greatest = values.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    [f64::from(least), f64::from(greatest)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Measures;

    fn trace(values: Vec<f32>) -> Trace {
        Trace {
            name: "Neck pressure (kPa)".into(),
            measures: Measures::NeckPressure,
            least_height: 0.0,
            sample_rate_hz: 1000.0,
            values,
        }
    }

    #[test]
    fn a_spike_of_one_sample_survives() {
        for at in [0, 1, 499, 54_321, 99_998, 99_999] {
            let mut values = vec![1.0f32; 100_000];
            values[at] = 9.0;
            let points = reduce(&trace(values), [0.0, 100.0], 700);
            assert!(points.len() <= 2 * 700 + 2);
            let spike = points.iter().find(|p| p.1 == 9.0).expect("the spike");
            let off = (spike.0 - at as f64 / 1000.0).abs();
            assert!(
                off <= 0.5 * 100.0 / 700.0,
                "spike at {at} is drawn {off} s off"
            );
        }
    }

    #[test]
    fn every_column_keeps_its_extremes() {
        let values: Vec<f32> = (0..10_007u32)
            .map(|i| (i.wrapping_mul(2_654_435_761) >> 16) as f32)
            .collect();
        let columns = 97;
        let points = reduce(&trace(values.clone()), [0.0, 20.0], columns);
        for c in 0..columns {
            let slice = &values[values.len() * c / columns..values.len() * (c + 1) / columns];
            for extreme in [f32::min as fn(f32, f32) -> f32, f32::max] {
                let wanted = slice.iter().copied().reduce(extreme).unwrap();
                assert!(
                    points.iter().any(|p| p.1 == f64::from(wanted)),
                    "column {c}"
                );
            }
        }
        assert!(
            points.windows(2).all(|w| w[0].0 <= w[1].0),
            "in order of time"
        );
    }

    #[test]
    fn a_short_span_keeps_every_sample_and_reaches_both_edges() {
        let points = reduce(
            &trace((0..1000).map(|i| i as f32).collect()),
            [0.1005, 0.1095],
            800,
        );
        let times: Vec<f64> = points.iter().map(|p| (p.0 * 1e4).round() / 10.0).collect();
        assert_eq!(
            times,
            [
                100.5, 101.0, 102.0, 103.0, 104.0, 105.0, 106.0, 107.0, 108.0, 109.0, 109.5
            ]
        );
        assert!((points[0].1 - 100.5).abs() < 1e-9 && (points[10].1 - 109.5).abs() < 1e-9);
    }

    #[test]
    fn a_span_between_two_samples_is_a_straight_line() {
        let points = reduce(&trace(vec![0.0, 10.0]), [0.0002, 0.0004], 800);
        assert_eq!(points.len(), 2);
        assert!((points[0].1 - 2.0).abs() < 1e-9 && (points[1].1 - 4.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_in_the_span_gives_no_points() {
        assert!(reduce(&trace(vec![]), [0.0, 1.0], 10).is_empty());
        assert!(reduce(&trace(vec![1.0, 2.0]), [5.0, 6.0], 10).is_empty());
        assert!(reduce(&trace(vec![1.0, 2.0]), [-6.0, -5.0], 10).is_empty());
        assert_eq!(reduce(&trace(vec![1.0]), [-1.0, 1.0], 10), [(0.0, 1.0)]);
    }
}
