//! An invented capture for the tests.

use super::*;

/// Two channels of 1000 samples at 4 kHz.
pub(crate) fn card() -> Card {
    Card {
        format: CARD_FORMAT.into(),
        capture: "bay-2".into(),
        brief: "Loses coolant, no drip found.".into(),
        sample_rate_hz: 4000.0,
        frames: 1000,
        engine: engine(),
        set_up: SetUp {
            mode: Mode::Cranking,
            plugs_out: vec![2],
            in_cylinder_transducer: None,
            ignition_enabled: true,
            cap: "sealed by the test adapter".into(),
            coolant_c: 25.0,
        },
        channels: vec![
            ChannelCard {
                name: "Neck pressure".into(),
                measures: Measures::NeckPressure,
                unit: "kPa".into(),
                scale_per_count: 0.005,
                offset: 100.0,
                bits: 12,
                range_v: [0.0, 5.0],
                ac_coupled: false,
                inverted: false,
                cylinder: None,
            },
            ChannelCard {
                name: "Coil trigger".into(),
                measures: Measures::CoilTrigger,
                unit: "V".into(),
                scale_per_count: 20.0 / 65536.0,
                offset: 0.0,
                bits: 12,
                range_v: [-10.0, 10.0],
                ac_coupled: false,
                inverted: false,
                cylinder: Some(1),
            },
        ],
        cautions: vec!["Never open a hot cooling system.".into()],
    }
}

/// An even-firing inline six.
pub(crate) fn engine() -> EngineData {
    EngineData {
        vehicle: "Brindlecote Six (invented)".into(),
        layout: Layout::Inline,
        cylinders: 6,
        firing_order: vec![1, 5, 3, 6, 2, 4],
        firing_intervals_deg: vec![120.0; 6],
        displacement_l: 3.3,
        compression_ratio: 9.6,
        shared_coils: false,
    }
}

/// Samples that go with [`card`].
pub(crate) fn channels() -> Vec<Vec<i16>> {
    vec![
        (0..1000).map(|i| i * 16).collect(),
        (0..1000).map(|i| -i * 16).collect(),
    ]
}

/// A truth that goes with [`card`], save for the digest: one leak, in cylinder 3.
pub(crate) fn truth() -> Truth {
    Truth {
        format: TRUTH_FORMAT.into(),
        capture: "bay-2".into(),
        title: "A first leak".into(),
        teaches: "counting from the sync".into(),
        version: "0.1.0".into(),
        seed: 7,
        number: 0,
        wav_sha256: "0f".repeat(32),
        engine: engine(),
        mode: Mode::Cranking,
        leaks: vec![LeakTruth {
            cylinder: 3,
            area_mm2: 0.05,
            opens_at_bar: 3.0,
            plug_out: false,
            gas_in_mg: 1.5,
            gas_back_mg: 0.5,
            coolant_drawn_ml: 0.0,
            events: 1,
            lag_ms: Some(19.0),
            lag_deg: Some(20.5),
            pulse_height: Some(4.3),
            pulse_over_noise: Some(90.0),
            visible: true,
        }],
        weak_cylinders: vec![],
        events: vec![LeakEvent {
            leak: 0,
            cylinder: 3,
            tdc_s: 0.1,
            gas_start_s: 0.09,
            gas_end_s: 0.12,
            mass_mg: 1.5,
            steepest_s: Some(0.119),
            lag_ms: Some(19.0),
            lag_deg: Some(20.5),
            height: None,
        }],
        tdcs: vec![Tdc {
            cylinder: 3,
            time_s: 0.1,
        }],
        channels: vec![ChannelTruth {
            name: "Neck pressure".into(),
            clipped_samples: 0,
            noise_rms: 0.04,
        }],
        gas: GasAccount {
            passed_mg: 1.5,
            in_jacket_mg: 0.75,
            in_neck_mg: 0.25,
            relieved_mg: 0.0,
            pulled_back_mg: 0.5,
        },
        evidence: Evidence {
            sync: Sync::Full,
            visible: [3].into(),
            hidden: CylinderSet::default(),
            supported: vec![Call::All([3].into())],
            reasons: vec!["One pulse train follows cylinder 3.".into()],
        },
        difficulty: Default::default(),
        scenario: serde_json::json!({"title": "A first leak", "deep": {"list": [1, 2.5, null]}}),
    }
}
