//! The debrief of a capture: its truth in words and in a picture.

mod picture;
mod probes;
mod sweep;
mod words;

pub use picture::{call_picture, capture_picture, debrief_picture, span};
pub use probes::probes;
pub use sweep::{Row, Sensitivity, sensitivity};
pub use words::{Words, sync_cylinder, test, vehicle, words};

/// Which units a reader wants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// kPa, bar, mm, degrees Celsius.
    #[default]
    Metric,
    /// psi, inches, degrees Fahrenheit.
    Us,
}

/// Pascals in a pound-force per square inch (NIST Special Publication 811, appendix B).
const KPA_PER_PSI: f64 = 6.894_757_293_168;

impl Units {
    /// Factor and offset that make a value given in `unit` one in the reader's unit, with that unit's name.
    pub fn of(self, unit: &str) -> (f64, f64, &str) {
        match (self, unit) {
            (Units::Us, "kPa") => (1.0 / KPA_PER_PSI, 0.0, "psi"),
            (Units::Us, "bar") => (100.0 / KPA_PER_PSI, 0.0, "psi"),
            (Units::Us, "°C") => (1.8, 32.0, "°F"),
            (Units::Us, "mL") => (1.0 / 29.573_529_562_5, 0.0, "fl oz"),
            (Units::Us, "mm²") => (1.0 / 645.16, 0.0, "in²"),
            _ => (1.0, 0.0, unit),
        }
    }

    /// A value given in `unit`, in the reader's unit as text with `digits` significant digits.
    pub fn text(self, value: f64, unit: &str, digits: usize) -> String {
        let (factor, offset, unit) = self.of(unit);
        format!("{} {unit}", significant(value * factor + offset, digits))
    }
}

/// A number with so many significant digits, without an exponent.
fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let magnitude = format!("{value:e}");
    let magnitude = magnitude.rsplit('e').next().and_then(|m| m.parse().ok());
    let magnitude: i32 = magnitude.unwrap_or(0);
    let places = (digits as i32 - 1 - magnitude).max(0) as usize;
    format!("{value:.places$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_significant_digits() {
        assert_eq!(significant(0.04999999, 2), "0.050");
        assert_eq!(significant(19.373, 2), "19");
        assert_eq!(significant(0.0, 2), "0");
        assert_eq!(Units::Us.text(100.0, "kPa", 3), "14.5 psi");
        assert_eq!(Units::Us.text(25.0, "°C", 2), "77 °F");
        assert_eq!(Units::Metric.text(0.05, "mm²", 1), "0.05 mm²");
    }
}
