//! Promises of whole pictures.

use super::scene::{Shape, Words};
use super::*;
use crate::domain::{LeakEvent, Measures};
use crate::math;
use plotters::style::text_anchor::HPos;

fn trace(measures: Measures, name: &str, unit: &str, value: impl Fn(f64) -> f64) -> Trace {
    let sample_rate_hz = 2000.0;
    Trace {
        name: format!("{name} ({unit})"),
        measures,
        least_height: 0.0,
        sample_rate_hz,
        values: (0..8000)
            .map(|i| value(f64::from(i) / sample_rate_hz) as f32)
            .collect(),
    }
}

/// A staircase, a trigger and a battery voltage over 4 s, invented.
fn picture() -> Picture {
    Picture {
        title: "Pressure builds while cranking".into(),
        subtitle: "firing order 1-3-4-2".into(),
        traces: vec![
            trace(Measures::NeckPressure, "Neck pressure", "kPa", |t| {
                4.0 + 2.0 * (t / 0.57).floor()
            }),
            trace(Measures::CoilTrigger, "Coil trigger", "V", |t| {
                if t % 0.57 < 0.005 { 5.0 } else { 0.0 }
            }),
            trace(Measures::BatteryVoltage, "Battery <1> & \"2\"", "V", |t| {
                10.4 + 0.3 * math::sin(44.0 * t)
            }),
        ],
        tdcs: Vec::new(),
        events: Vec::new(),
        span_s: [0.0, 4.0],
        theme: Theme::Light,
        footnote: "Invented data.".into(),
    }
}

/// A passage of gas with a lag.
fn event(cylinder: u32, gas_s: [f64; 2], tdc_s: f64, steepest_s: f64) -> LeakEvent {
    let lag_ms = 1000.0 * (steepest_s - tdc_s);
    LeakEvent {
        leak: 0,
        cylinder,
        tdc_s,
        gas_start_s: gas_s[0],
        gas_end_s: gas_s[1],
        mass_mg: 1.0,
        steepest_s: Some(steepest_s),
        lag_ms: Some(lag_ms),
        lag_deg: Some(28.0 / 22.0 * lag_ms),
        height: Some(1.0),
    }
}

/// The same with marks: TDCs `apart_s` seconds from each other, the first cylinder with a sync, the
/// third with a leak.
fn debrief(apart_s: f64) -> Picture {
    let mut picture = picture();
    for i in 0..(4.0 / apart_s) as u32 {
        let time_s = 0.05 + f64::from(i) * apart_s;
        let (cylinder, emphasis) = [
            (1, Emphasis::Sync),
            (3, Emphasis::Plain),
            (4, Emphasis::Leaking),
            (2, Emphasis::Plain),
        ][i as usize % 4];
        picture.tdcs.push(NumberedTdc {
            time_s,
            cylinder,
            emphasis,
        });
        if emphasis == Emphasis::Leaking {
            let gas_s = [time_s - 0.03, time_s + 0.03];
            picture
                .events
                .push(event(cylinder, gas_s, time_s, time_s + 0.022));
        }
    }
    picture
}

pub(super) fn words(drawing: &impl Drawing) -> Vec<Words> {
    let scene = drawing.scene().unwrap_or_else(|faults| panic!("{faults}"));
    scene
        .shapes
        .into_iter()
        .filter_map(|shape| match shape {
            Shape::Words(words) => Some(words),
            _ => None,
        })
        .collect()
}

fn texts(picture: &Picture) -> Vec<String> {
    words(picture).into_iter().map(|w| w.text).collect()
}

/// Fails if any two words overlap or any word leaves the picture.
pub(super) fn assert_legible(drawing: &impl Drawing) {
    let [width, height] = drawing.scene().unwrap().size.map(f64::from);
    let words = words(drawing);
    let boxes: Vec<[f64; 4]> = words
        .iter()
        .map(|w| {
            let em = f64::from(w.style.size) / text::LINE_PER_EM;
            let [left, right] = w.extent();
            [left, w.at[1] - 0.73 * em, right, w.at[1] + 0.2 * em]
        })
        .collect();
    for (i, a) in boxes.iter().enumerate() {
        assert!(
            a[0] >= 0.0 && a[1] >= 0.0 && a[2] <= width && a[3] <= height,
            "{} is cut off at {a:?} of {width} x {height}",
            words[i].text
        );
        for (j, b) in boxes.iter().enumerate().skip(i + 1) {
            assert!(
                a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1],
                "\"{}\" and \"{}\" overlap in {width} x {height}",
                words[i].text,
                words[j].text
            );
        }
    }
}

/// Fails if any point of a trace has no place, or one outside the picture.
fn assert_lines_stay_inside(picture: &Picture) {
    let [width, height] = picture.scene().unwrap().size.map(f64::from);
    for shape in picture.scene().unwrap().shapes {
        if let Shape::Path { points, .. } = shape {
            for [x, y] in points {
                let inside = (0.0..=width).contains(&x) && (0.0..=height).contains(&y);
                assert!(inside, "({x}, {y}) in {width} x {height}");
            }
        }
    }
}

/// Fails unless tags nest, attributes are quoted and no bare `<` or `&` is left.
pub(super) fn assert_well_formed(xml: &str) {
    let mut open = Vec::new();
    for piece in xml.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').expect("a closed tag");
        assert!(!text.contains('>'), "bare > in {text}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "tags nest");
        } else {
            assert_eq!(tag.matches('"').count() % 2, 0, "quotes in {tag}");
            let name = tag.split(' ').next().unwrap_or_default();
            if !tag.ends_with('/') {
                open.push(name);
            }
        }
        for entity in piece.split('&').skip(1) {
            let (name, _) = entity.split_once(';').expect("a closed entity");
            assert!(
                ["lt", "gt", "amp", "quot", "apos"].contains(&name),
                "{name}"
            );
        }
    }
    assert!(open.is_empty(), "open at the end: {open:?}");
}

#[test]
fn a_png_decodes_to_its_size_and_has_no_metadata() {
    let picture = debrief(0.14);
    let file = png(&picture).unwrap();
    let mut reader = ::png::Decoder::new(std::io::Cursor::new(&file))
        .read_info()
        .unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut pixels).unwrap();
    let size = picture.scene().unwrap().size;
    assert_eq!([frame.width, frame.height], size);
    assert!(size[0] == 1600 && size[1] > 700);
    let is = |colour: [u8; 3]| pixels.chunks_exact(3).filter(|p| *p == colour).count();
    assert!(is([255, 255, 255]) > 400_000, "the page is white");
    assert!(
        is(palette::trace_colour(Measures::NeckPressure)) > 500,
        "the trace is drawn"
    );
    assert!(is(palette::HIGHLIGHT) > 100, "the leak is marked");
    for chunk in [b"tIME", b"tEXt", b"iTXt", b"zTXt", b"eXIf"] {
        assert!(!file.windows(4).any(|w| w == chunk));
    }
}

#[test]
fn an_svg_is_well_formed_and_says_what_the_axes_show() {
    let mut picture = debrief(0.14);
    picture.title = "Title with <tags> & \u{1} 'quotes'".into();
    let document = svg(&picture).unwrap();
    assert_well_formed(&document);
    let [width, height] = picture.scene().unwrap().size;
    let [fine_width, fine_height] = [4 * width, 4 * height];
    let head = format!(
        "<svg width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {fine_width} {fine_height}\""
    );
    assert!(document.starts_with(&head));
    for label in [
        "Neck pressure (kPa)",
        "Coil trigger (V)",
        "Battery &lt;1&gt; &amp; &quot;2&quot; (V)",
        "Time (s)",
        "Title with &lt;tags&gt; &amp; &apos;quotes&apos;",
        "22 ms · 28°",
    ] {
        assert!(document.contains(label), "{label}");
    }
    assert!(document.len() < 400_000, "{} bytes", document.len());
}

#[test]
fn an_svg_of_a_long_capture_stays_small() {
    let mut picture = picture();
    for trace in &mut picture.traces {
        trace.values = (0..500_000u32)
            .map(|i| (i.wrapping_mul(2_654_435_761) >> 20) as f32)
            .collect();
    }
    picture.span_s = [0.0, 250.0];
    let size = svg(&picture).unwrap().len();
    assert!(size < 200_000, "{size} bytes");
}

#[test]
fn the_same_picture_gives_the_same_bytes() {
    let picture = debrief(0.14);
    assert_eq!(png(&picture).unwrap(), png(&picture.clone()).unwrap());
    assert_eq!(svg(&picture).unwrap(), svg(&picture.clone()).unwrap());
}

#[test]
fn themes_differ_but_a_trace_keeps_its_colour() {
    let light = debrief(0.14);
    let dark = Picture {
        theme: Theme::Dark,
        ..light.clone()
    };
    assert_ne!(png(&light).unwrap(), png(&dark).unwrap());
    let neck = "stroke=\"#009E73\"";
    assert!(svg(&light).unwrap().contains(neck) && svg(&dark).unwrap().contains(neck));
}

#[test]
fn words_neither_overlap_nor_leave_the_picture() {
    for apart_s in [0.004, 0.03, 0.07, 0.14, 0.3] {
        for span_s in [
            [0.0, 4.0],
            [1.2, 1.9],
            [1.3, 1.4],
            [-2.0, 30.0],
            [86_400.0, 86_400.3],
            [86_400.0, 86_400.001],
        ] {
            let mut picture = debrief(apart_s);
            picture.span_s = span_s;
            assert_legible(&picture);
            // A second leak, next in the firing order, whose arrows cross those of the first.
            for first in debrief(apart_s).events {
                let gas_s = [first.tdc_s, first.tdc_s + 0.1];
                let mut second = event(2, gas_s, first.tdc_s + apart_s, first.tdc_s);
                second.lag_ms = Some(-1e14);
                picture.events.push(second);
            }
            assert_legible(&picture);
        }
    }
}

#[test]
fn every_tdc_is_numbered_where_there_is_room_and_the_strip_says_so_where_not() {
    let note = "not every mark has room for its words; a shorter span shows more";
    let numbers = |picture: &Picture, number: &str| {
        let strip = |w: &&Words| matches!(w.anchor, HPos::Center) && w.at[1] < 210.0;
        let words = words(picture);
        words
            .iter()
            .filter(strip)
            .filter(|w| w.text == number)
            .count()
    };
    let mut wide = debrief(0.14);
    wide.span_s = [0.0, 3.6];
    for (number, times) in [("1", 7), ("3", 7), ("4", 6), ("2", 6)] {
        assert_eq!(numbers(&wide, number), times, "cylinder {number}");
    }
    assert!(!texts(&wide).iter().any(|t| t == note));
    let dense = debrief(0.01);
    assert!(texts(&dense).iter().any(|t| t == note));
    assert!(numbers(&dense, "4") > 20, "the leak is numbered first");
    assert_eq!(numbers(&dense, "3"), 0);
}

#[test]
fn lags_name_their_cylinder_only_where_several_leak() {
    let mut picture = debrief(0.3);
    assert!(texts(&picture).iter().any(|t| t == "22 ms · 28°"));
    picture.events.push(event(5, [0.1, 0.2], 0.15, 0.17));
    assert!(texts(&picture).iter().any(|t| t == "cyl. 5: 20 ms · 25°"));
    assert!(texts(&picture).iter().any(|t| t == "cyl. 4: 22 ms · 28°"));
}

#[test]
fn a_picture_without_marks_gives_nothing_away() {
    let all = texts(&picture()).join("\n");
    assert!(!all.contains("TDC") && !all.contains("leak") && !all.contains("sync"));
}

#[test]
fn short_spans_count_in_milliseconds() {
    let mut picture = picture();
    picture.span_s = [1.0, 1.1];
    let texts = texts(&picture);
    assert!(texts.iter().any(|t| t == "Time (ms)"));
    assert!(texts.iter().any(|t| t == "1050"));
}

#[test]
fn odd_traces_are_drawn() {
    let mut picture = debrief(0.14);
    let values: [Vec<f32>; 8] = [
        vec![],
        vec![3.0],
        vec![12.4; 8000],
        vec![0.0; 8000],
        vec![f32::MAX, f32::MIN, f32::MAX],
        vec![f32::MIN_POSITIVE, 0.0],
        vec![1e8, 1e8 + 8.0],
        vec![-5.0, 5.0],
    ];
    picture.traces = values
        .into_iter()
        .map(|values| Trace {
            values,
            ..picture.traces[0].clone()
        })
        .collect();
    picture.traces.extend(picture.traces.clone());
    for span_s in [[0.0, 4.0], [0.0001, 0.0003], [-9.0, -8.0], [5.0, 6.0]] {
        picture.span_s = span_s;
        assert_legible(&picture);
        assert_lines_stay_inside(&picture);
        png(&picture).unwrap();
        svg(&picture).unwrap();
    }
    let empty = texts(&picture);
    assert_eq!(
        empty
            .iter()
            .filter(|t| *t == "no samples in this span")
            .count(),
        16
    );
}

#[test]
fn long_words_are_broken_or_shortened() {
    let mut picture = debrief(0.14);
    picture.title = "word ".repeat(60);
    picture.footnote = "x".repeat(400);
    picture.traces[0].name = "a very long name of a trace ".repeat(9);
    assert_legible(&picture);
    assert!(texts(&picture).iter().any(|t| t.ends_with('…')));
}

#[test]
fn what_cannot_be_drawn_is_refused_with_its_place() {
    fn places(change: impl Fn(&mut Picture)) -> Vec<String> {
        let mut picture = debrief(0.14);
        change(&mut picture);
        let faults = svg(&picture).expect_err("a fault");
        assert_eq!(png(&picture), Err(faults.clone()));
        faults.0.into_iter().map(|f| f.place).collect()
    }
    assert_eq!(places(|p| p.traces.clear()), ["picture: traces"]);
    assert_eq!(places(|p| p.title = "long ".repeat(20_000)), ["picture"]);
    assert_eq!(
        places(|p| p.traces = vec![p.traces[0].clone(); 120]),
        ["picture"]
    );
    assert_eq!(places(|p| p.span_s = [2.0, 1.0]), ["picture: span_s"]);
    assert_eq!(places(|p| p.span_s = [2.0, 2.0]), ["picture: span_s"]);
    assert_eq!(
        places(|p| p.span_s = [f64::NAN, f64::INFINITY]),
        ["picture: span_s"]
    );
    assert_eq!(
        places(|p| p.traces[2].values[7] = f32::NAN),
        ["picture: traces[2].values"]
    );
    assert_eq!(
        places(|p| {
            p.traces[0].sample_rate_hz = 0.0;
            p.tdcs[2].time_s = f64::NAN;
            p.events[1].steepest_s = Some(f64::INFINITY);
        }),
        [
            "picture: tdcs[2]",
            "picture: events[1]",
            "picture: traces[0].sample_rate_hz"
        ]
    );
}

#[test]
fn a_called_cylinder_is_told_by_its_form() {
    let mut picture = debrief(0.14);
    for tdc in &mut picture.tdcs {
        if tdc.cylinder == 3 {
            tdc.emphasis = Emphasis::Called;
        }
    }
    picture.span_s = [1.0, 2.5];
    assert_legible(&picture);
    let texts = texts(&picture);
    assert!(texts.iter().any(|t| t == "3 \u{2717}"), "{texts:?}");
    assert!(texts.iter().any(|t| t == "called, but does not leak"));
}

/// A lag whose TDC and rise lie before the span has no words at the span's edge.
#[test]
fn a_lag_outside_of_the_span_is_not_written() {
    let mut picture = picture();
    picture.events.push(event(3, [0.9, 1.1], 0.95, 0.97));
    let written = |picture: &Picture| texts(picture).iter().any(|t| t == "20 ms · 25°");
    picture.span_s = [0.9, 2.0];
    assert!(written(&picture));
    picture.span_s = [1.0, 2.0];
    assert!(!written(&picture));
}
