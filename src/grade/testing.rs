//! Small truths to grade against; the engines and their leaks are invented.

use crate::domain::{EngineData, Entry, Evidence, Layout, LeakTruth, Mode, Sync, Truth};
use crate::domain::{GasAccount, TRUTH_FORMAT, Tdc};

/// An even-firing engine of the given firing order.
pub fn engine(firing_order: &[u32]) -> EngineData {
    let cylinders = firing_order.len();
    EngineData {
        vehicle: "Heron 1.6".into(),
        layout: Layout::Inline,
        cylinders,
        firing_order: firing_order.to_vec(),
        firing_intervals_deg: vec![720.0 / cylinders as f64; cylinders],
        displacement_l: 0.4 * cylinders as f64,
        compression_ratio: 10.0,
        shared_coils: false,
    }
}

/// Companions 1|4 and 2|3.
pub fn four() -> EngineData {
    engine(&[1, 3, 4, 2])
}

/// Companions 1|6, 2|5 and 3|4.
pub fn six() -> EngineData {
    engine(&[1, 5, 3, 6, 2, 4])
}

/// A capture of two leaks at most; visible ones lag by 20 ms, 21 degrees, hidden ones never lift.
pub fn truth(
    engine: EngineData,
    sync: Sync,
    visible: &[u32],
    hidden: &[u32],
    supported: &[&str],
) -> Truth {
    let leak = |cylinder: u32, visible: bool| LeakTruth {
        cylinder,
        area_mm2: if visible { 0.05 } else { 0.12 },
        opens_at_bar: if visible { 3.0 } else { 16.0 },
        plug_out: false,
        gas_in_mg: if visible { 9.0 } else { 0.0 },
        gas_back_mg: 0.0,
        coolant_drawn_ml: 0.0,
        events: if visible { 12 } else { 0 },
        lag_ms: visible.then_some(20.0),
        lag_deg: visible.then_some(21.0),
        pulse_height: visible.then_some(4.0),
        pulse_over_noise: visible.then_some(15.0),
        visible,
    };
    let shown = visible.iter().map(|c| leak(*c, true));
    let tdcs = engine.firing_order.iter().cycle().take(24).enumerate();
    Truth {
        format: TRUTH_FORMAT.into(),
        capture: "quiz-1".into(),
        title: "A heater that gurgles".into(),
        teaches: "counting from the sync".into(),
        version: "0.1.0".into(),
        seed: 1,
        number: 0,
        wav_sha256: String::new(),
        mode: Mode::Cranking,
        leaks: shown
            .chain(hidden.iter().map(|c| leak(*c, false)))
            .collect(),
        weak_cylinders: vec![],
        events: vec![],
        tdcs: tdcs
            .map(|(i, c)| Tdc {
                cylinder: *c,
                time_s: 0.2 * i as f64,
            })
            .collect(),
        channels: vec![],
        gas: GasAccount {
            passed_mg: 0.0,
            in_jacket_mg: 0.0,
            in_neck_mg: 0.0,
            relieved_mg: 0.0,
            pulled_back_mg: 0.0,
        },
        evidence: Evidence {
            sync,
            visible: visible.iter().copied().collect(),
            hidden: hidden.iter().copied().collect(),
            supported: supported.iter().map(|call| call.parse().unwrap()).collect(),
            reasons: vec![],
        },
        difficulty: Default::default(),
        scenario: serde_json::Value::Null,
        engine,
    }
}

/// The same truth with worn cylinders.
pub fn with_weak(mut truth: Truth, weak: &[u32]) -> Truth {
    truth.weak_cylinders = weak.to_vec();
    truth
}

/// The same truth with another lag, crank degrees, at 1050 degrees a second.
pub fn with_lag(mut truth: Truth, lag_deg: f64) -> Truth {
    for leak in truth.leaks.iter_mut().filter(|leak| leak.visible) {
        leak.lag_deg = Some(lag_deg);
        leak.lag_ms = Some(lag_deg / 1.05);
    }
    truth
}

/// A call of capture `quiz-1`.
pub fn call(cylinders: &str) -> Entry {
    Entry::new("quiz-1", cylinders.parse().unwrap())
}
