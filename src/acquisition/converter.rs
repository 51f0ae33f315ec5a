//! Analog to digital: range, bits, quantisation, clipping that is counted.

/// A converter that spans plus and minus its range.
#[derive(Clone, Debug)]
pub struct Converter {
    /// Resolution.
    pub bits: u32,
    /// Samples that ran out of the range.
    pub clipped: u64,
    range_v: f64,
    per_step: f64,
    low: i32,
    high: i32,
}

impl Converter {
    /// A converter of 8 to 16 bits.
    pub fn new(range_v: f64, bits: u32) -> Converter {
        let half = 1i32 << (bits - 1);
        Converter {
            bits,
            clipped: 0,
            range_v,
            per_step: f64::from(half) / range_v,
            low: -half,
            high: half - 1,
        }
    }

    /// One sample, left-justified in 16 bits.
    pub fn sample(&mut self, volts: f64) -> i16 {
        let steps = volts * self.per_step;
        // To the nearest step, halves away from zero; the cast saturates far outside of any range.
        let nearest = (steps + f64::copysign(0.5, steps)) as i32;
        if nearest < self.low || nearest > self.high {
            self.clipped += 1;
        }
        (nearest.clamp(self.low, self.high) as i16) << (16 - self.bits)
    }

    /// Volts of one step of the converter.
    pub fn step_v(&self) -> f64 {
        1.0 / self.per_step
    }

    /// Volts of one count of the 16-bit sample.
    pub fn volts_per_count(&self) -> f64 {
        self.range_v / 32768.0
    }

    /// Lowest and highest voltage.
    pub fn range(&self) -> [f64; 2] {
        [-self.range_v, self.range_v]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;

    /// Signal over quantisation noise of a full-scale sine: 6.02 N + 1.76 dB (IEEE 1241, cited from
    /// memory). The tolerance of 0.3 dB covers the one missing code and the finite record.
    #[test]
    fn quantisation_noise_follows_ieee_1241() {
        for bits in [8, 10, 12, 16] {
            let mut converter = Converter::new(5.0, bits);
            let n = 100_003;
            let (mut signal, mut noise) = (0.0, 0.0);
            for i in 0..n {
                // The highest code is one short of full scale.
                let amplitude_v = 5.0 - 0.51 * converter.step_v();
                let v = amplitude_v * math::sin(math::TAU * 1009.0 * i as f64 / n as f64);
                let error = converter.sample(v) as f64 * converter.volts_per_count() - v;
                signal += v * v;
                noise += error * error;
            }
            let db = 10.0 * math::ln(signal / noise) / math::ln(10.0);
            let expected = 6.02 * bits as f64 + 1.76;
            assert!(
                (db - expected).abs() < 0.3,
                "{bits} bits: {db} dB, not {expected}"
            );
        }
    }

    #[test]
    fn clipping_is_counted() {
        let mut converter = Converter::new(1.0, 12);
        assert_eq!(converter.sample(2.0), 0x7ff0);
        assert_eq!(converter.sample(-2.0), -0x8000);
        assert_eq!(converter.sample(0.0), 0);
        assert_eq!(converter.clipped, 2);
    }
}
