//! Filters, pulse sensor, converter.

use crate::bench::{six, six_vehicle};
use crate::table::{Table, Worst};
use waterjacket::acquisition::Converter;
use waterjacket::math::{TAU, exp, ln, sin};
use waterjacket::scenario::SensorSpec;
use waterjacket::sensors::filter::Filter;
use waterjacket::sensors::{Ignition, Scene, Sensor};
use waterjacket::simulation::{STEP_S, run};

fn filter(name: &str, rate_hz: f64) -> Filter {
    match name {
        "low_pass" => Filter::low_pass(300.0, rate_hz),
        "high_pass" => Filter::high_pass(0.04, rate_hz),
        "second_order" => Filter::second_order(TAU * 500.0, 0.7, rate_hz),
        // SciPy's butter bends the corner first; ours does not, so it is given the bent one.
        "butterworth" => {
            let half = TAU / 2.0 * 400.0 / rate_hz;
            let bent = 2.0 * rate_hz * libm::tan(half);
            Filter::second_order(bent, std::f64::consts::FRAC_1_SQRT_2, rate_hz)
        }
        other => panic!("no filter {other}"),
    }
}

/// SciPy's bilinear and butter. A few sums of like size; the table has 12 digits, the largest
/// coefficient is 2: 1e-11.
#[test]
fn filter_coefficients_are_scipys() {
    let mut worst = Worst::default();
    for row in Table::read("filter_coefficients").rows() {
        let name = row.word("filter");
        let f = filter(name, row.number("rate_hz"));
        for (got, column) in
            f.b.into_iter()
                .chain([f.a[1], f.a[2]])
                .zip(["b0", "b1", "b2", "a1", "a2"])
        {
            worst.absolute(got, row.number(column), format!("{column} of {name}"));
        }
    }
    worst.within(1e-11, "filters: coefficients");
}

/// SciPy's lfilter, ten samples of up to 3: 3e-11.
#[test]
fn filtered_samples_are_scipys() {
    let table = Table::read("filter_samples");
    let mut worst = Worst::default();
    let mut current = (String::new(), Filter::low_pass(1.0, 1.0));
    for row in table.rows() {
        let key = format!("{} at {} Hz", row.word("filter"), row.word("rate_hz"));
        if current.0 != key {
            current = (key, filter(row.word("filter"), row.number("rate_hz")));
        }
        let got = current.1.next(row.number("input"));
        worst.absolute(got, row.number("output"), &current.0);
    }
    worst.within(3e-11, "filters: samples");
}

/// A ramp of 100 kPa/s for 50 ms, then held. SciPy's lsim is exact for it, and so is the closed
/// form `r w [1/(a w) + e^(-a t)/(a (a - w)) + e^(-w t)/(w (w - a))]`, `a = 1/tau`, less the same
/// from the end of the ramp on: they agree to the table's digits. The bilinear transform is good to
/// `(w T)^2/12` of what the fast pole contributes, `r tau/(tau w)`, near the kinks only: at 96 kHz,
/// 1e-5 of the largest output.
#[test]
fn a_pulse_sensor_feels_a_ramp_and_forgets_it() {
    let (rate_hz, ramp_pa_s, until_s) = (96_000.0, 1e5, 0.05);
    let (a, w) = (1.0 / 0.04, TAU * 1000.0);
    let since = |t: f64| {
        let t = t.max(0.0);
        let fading = exp(-a * t) / (a * (a - w)) + exp(-w * t) / (w * (w - a));
        ramp_pa_s * w * (1.0 / (a * w) + fading)
    };
    let drawn = six();
    let vehicle = six_vehicle();
    let mut test = drawn.scenario.test.clone();
    test.duration_s = 0.2;
    let mut traces = run(&vehicle, &test, &Vec::new());
    for (i, p) in traces.neck_pa.iter_mut().enumerate() {
        *p = ramp_pa_s * (i as f64 * STEP_S).min(until_s);
    }
    let mut spec = drawn.scenario.channels[0].sensor.clone();
    let SensorSpec::NeckPulse(neck) = &mut spec else {
        panic!("a pulse sensor stands first");
    };
    let pulse = &mut neck.pulse;
    (pulse.gain_v_pa, pulse.saturation_v, pulse.negative) = (1.0, f64::INFINITY, false);
    (pulse.decay_s, pulse.low_pass_hz) = (0.04, 1000.0);
    let scene = Scene {
        vehicle: &vehicle,
        traces: &traces,
        acoustic_delay_s: 0.0,
        ignition: Ignition {
            enabled: false,
            shared_coils: false,
            spark_rad: 0.0,
        },
    };
    let mut sensor = Sensor::new(&spec, scene, rate_hz);
    let (mut closed, mut sampled) = (Worst::default(), Worst::default());
    let largest = since(until_s);
    let mut felt_v = vec![0.0; (0.2 * rate_hz) as usize + 1];
    sensor.volts(0, &mut felt_v);
    for row in Table::read("pulse_ramp").rows() {
        let (t, felt) = (row.number("time_s"), row.number("felt_pa"));
        closed.absolute((since(t) - since(t - until_s)) / largest, felt / largest, t);
        let got = felt_v[(t * rate_hz).round() as usize];
        sampled.absolute(got / largest, felt / largest, t);
    }
    closed.within(1e-9, "pulse sensor: closed form over SciPy");
    sampled.within(1e-5, "pulse sensor: ramp and hold");
    let held = since(1.0) - since(1.0 - until_s);
    assert!(
        held.abs() < 1e-9 * largest,
        "a held pressure fades to nothing"
    );
}

/// NumPy's rounding, to the last count or two of 100 003 samples: 1e-4 dB; and the rule of IEEE
/// 1241 (cited from memory), which takes the error as uniform: 0.2 dB at 8 bits, where it is not
/// quite.
#[test]
fn quantisation_noise_is_that_of_rounding() {
    let (mut rounded, mut rule) = (Worst::default(), Worst::default());
    for row in Table::read("quantiser").rows() {
        let bits = row.number("bits") as u32;
        let mut converter = Converter::new(5.0, bits);
        let amplitude_v = 5.0 - 0.51 * converter.step_v();
        let n = 100_003;
        let (mut signal, mut noise) = (0.0, 0.0);
        for i in 0..n {
            let v = amplitude_v * sin(TAU * 1009.0 * f64::from(i) / f64::from(n));
            let error = f64::from(converter.sample(v)) * converter.volts_per_count() - v;
            signal += v * v;
            noise += error * error;
        }
        assert_eq!(converter.clipped, 0);
        let db = 10.0 * ln(signal / noise) / ln(10.0);
        rounded.absolute(db, row.number("rounded_sine_db"), bits);
        rule.absolute(db, row.number("rule_db"), bits);
    }
    rounded.within(1e-4, "converter: dB over rounding");
    rule.within(0.2, "converter: dB over 6.02 N + 1.76");
}
