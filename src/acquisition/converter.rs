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
    low: f64,
    high: f64,
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
            low: f64::from(-half),
            high: f64::from(half - 1),
        }
    }

    /// One sample, left-justified in 16 bits.
    pub fn sample(&mut self, volts: f64) -> i16 {
        let mut sample = [0];
        self.convert(&[volts], &mut sample);
        sample[0]
    }

    /// A block of samples, left-justified in 16 bits.
    pub fn convert(&mut self, volts: &[f64], samples: &mut [i16]) {
        let mut clipped = 0u32;
        let left = 16 - self.bits;
        for (sample, volts) in samples.iter_mut().zip(volts) {
            // To the nearest step, halves to the even one: next to 1.5 * 2^52 floats are the whole numbers, and
            // their low bits count them in two's complement.
            const WHOLE: f64 = 6_755_399_441_055_744.0;
            let nearest = (volts * self.per_step + WHOLE) - WHOLE;
            let within = nearest.clamp(self.low, self.high);
            clipped += u32::from(within != nearest);
            *sample = ((within + WHOLE).to_bits() as i16) << left;
        }
        self.clipped += u64::from(clipped);
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
