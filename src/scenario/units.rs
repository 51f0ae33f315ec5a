//! Units: a quantity in a scenario is a number and a unit, and becomes SI on reading.

use super::slips;
use crate::error::{Fault, Kind, nearest};
use Dimension::*;

/// What a quantity measures; decides which units fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Dimension {
    Angle,
    Area,
    Compliance,
    Density,
    Energy,
    FlowResistance,
    Frequency,
    Inertia,
    Length,
    MotorConstant,
    Pressure,
    PressureRate,
    QuadraticResistance,
    Ratio,
    Resistance,
    RotationalFriction,
    RotationalSpeed,
    SensitivityCurrent,
    SensitivityPressure,
    Temperature,
    Time,
    Torque,
    Viscosity,
    Voltage,
    VoltageRate,
    Volume,
}

/// A unit's spelling and its factor to SI.
type Unit = (&'static str, f64);

// Exact by definition: 1 in = 25.4 mm, 1 US gal = 231 in3, 1 US fl oz = gal/128,
// 1 lb = 0.453 592 37 kg, g = 9.806 65 m/s2 (NIST Special Publication 811, appendix B).
const INCH: f64 = 0.0254;
const POUND_FORCE: f64 = 0.453_592_37 * 9.806_65;
const PSI: f64 = POUND_FORCE / (INCH * INCH);
const GALLON: f64 = 231.0 * INCH * INCH * INCH;
const DEGREE: f64 = std::f64::consts::PI / 180.0;
const RPM: f64 = std::f64::consts::TAU / 60.0;

impl Dimension {
    /// The units that fit, SI first.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Angle => &[("rad", 1.0), ("deg", DEGREE)],
            Area => &[
                ("m2", 1.0),
                ("cm2", 1e-4),
                ("mm2", 1e-6),
                ("in2", INCH * INCH),
            ],
            Compliance => &[
                ("m3/Pa", 1.0),
                ("mL/kPa", 1e-9),
                ("mL/bar", 1e-11),
                ("mL/psi", 1e-6 / PSI),
            ],
            Density => &[("kg/m3", 1.0), ("g/mL", 1e3)],
            Energy => &[("J", 1.0), ("kJ", 1e3)],
            FlowResistance => &[("Pa s/m3", 1.0), ("kPa s/L", 1e6)],
            Frequency => &[("Hz", 1.0), ("kHz", 1e3), ("MHz", 1e6)],
            Inertia => &[("kg m2", 1.0), ("lb in2", 0.453_592_37 * INCH * INCH)],
            Length => &[
                ("m", 1.0),
                ("cm", 1e-2),
                ("mm", 1e-3),
                ("in", INCH),
                ("ft", 12.0 * INCH),
            ],
            MotorConstant => &[("V s/rad", 1.0), ("V/krpm", 1e-3 / RPM)],
            Pressure => &[
                ("Pa", 1.0),
                ("hPa", 1e2),
                ("kPa", 1e3),
                ("MPa", 1e6),
                ("mbar", 1e2),
                ("bar", 1e5),
                ("GPa", 1e9),
                ("psi", PSI),
            ],
            PressureRate => &[
                ("Pa/s", 1.0),
                ("kPa/min", 1e3 / 60.0),
                ("bar/min", 1e5 / 60.0),
                ("psi/min", PSI / 60.0),
            ],
            QuadraticResistance => &[("Pa s2/m6", 1.0)],
            Ratio => &[("", 1.0), ("%", 1e-2)],
            Resistance => &[("ohm", 1.0), ("mohm", 1e-3)],
            RotationalFriction => &[("N m s/rad", 1.0)],
            RotationalSpeed => &[("rad/s", 1.0), ("rpm", RPM)],
            SensitivityCurrent => &[("V/A", 1.0), ("mV/A", 1e-3)],
            SensitivityPressure => &[
                ("V/Pa", 1.0),
                ("V/kPa", 1e-3),
                ("V/bar", 1e-5),
                ("mV/kPa", 1e-6),
                ("V/psi", 1.0 / PSI),
            ],
            Temperature => &[("K", 1.0), ("C", 1.0), ("F", 5.0 / 9.0)],
            Time => &[("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("min", 60.0)],
            Torque => &[("N m", 1.0), ("lbf ft", POUND_FORCE * 12.0 * INCH)],
            Viscosity => &[("Pa s", 1.0), ("mPa s", 1e-3)],
            Voltage => &[("V", 1.0), ("mV", 1e-3)],
            VoltageRate => &[("V/s", 1.0), ("mV/s", 1e-3), ("mV/min", 1e-3 / 60.0)],
            Volume => &[
                ("m3", 1.0),
                ("L", 1e-3),
                ("mL", 1e-6),
                ("cm3", 1e-6),
                ("in3", INCH * INCH * INCH),
                ("fl oz", GALLON / 128.0),
                ("qt", GALLON / 4.0),
                ("gal", GALLON),
            ],
        }
    }

    /// The units that fit, for a message: `m3, L, mL or cm3`.
    pub fn unit_list(self) -> String {
        let names: Vec<&str> = self
            .units()
            .iter()
            .map(|u| u.0)
            .filter(|n| !n.is_empty())
            .collect();
        match names.split_last() {
            Some((last, [])) => last.to_string(),
            Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
            None => String::new(),
        }
    }

    /// How a quantity is written, for a remedy.
    pub fn forms(self) -> String {
        match self.takes_bare_numbers() {
            true => "write a number".into(),
            false => format!("write a number and a unit: {}", self.unit_list()),
        }
    }

    /// A quantity in this dimension's SI unit.
    pub fn in_si(self, number: f64) -> Quantity {
        Quantity {
            number,
            unit: self.units()[0],
        }
    }

    /// Whether a bare number is a quantity of this dimension.
    pub fn takes_bare_numbers(self) -> bool {
        self == Ratio
    }
}

/// A number with the unit it was written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The number, in `unit`.
    pub number: f64,
    unit: Unit,
}

impl Quantity {
    /// Reads `180 mL`; the fault has no place.
    pub fn parse(text: &str, dimension: Dimension) -> Result<Quantity, Fault> {
        let text = text.trim();
        let split = split_number(text);
        let (number, unit) = (text[..split].trim(), text[split..].trim());
        let complain = |what: &str, remedy: String| {
            Err(Fault::of(Kind::Value, format!("`{text}` {what}"), remedy))
        };
        let Some(value) = number.parse().ok().filter(|n: &f64| n.is_finite()) else {
            let word = text.trim_start_matches(['-', '+', '.']).to_lowercase();
            let infinite = number.parse::<f64>().is_ok();
            return match infinite || word.starts_with("nan") || word.starts_with("inf") {
                true => complain("is not a finite number", dimension.forms()),
                false => complain("does not start with a number", dimension.forms()),
            };
        };
        let units = dimension.units();
        if let Some(found) = units.iter().find(|u| u.0 == unit) {
            return Ok(Quantity {
                number: value,
                unit: *found,
            });
        }
        if let Some((problem, remedy)) = slips::number(number, unit) {
            return complain(problem, remedy);
        }
        let fitting = format!("nits that fit: {}", dimension.unit_list());
        if unit.is_empty() {
            return complain("has no unit", format!("u{fitting}"));
        }
        let names: Vec<&str> = units.iter().map(|u| u.0).collect();
        let near = slips::unit(unit, &names).or_else(|| nearest(unit, names));
        let remedy = match near {
            Some("") | None if dimension.takes_bare_numbers() => dimension.forms(),
            Some(near) => format!("did you mean `{number} {near}`? U{fitting}"),
            None => format!("u{fitting}"),
        };
        let problem = format!("unknown unit `{unit}` in `{text}`");
        Err(Fault::of(Kind::Value, problem, remedy))
    }

    /// A bare number of a dimension that needs no unit.
    pub fn bare(number: f64) -> Quantity {
        Quantity {
            number,
            unit: ("", 1.0),
        }
    }

    /// The value in SI units.
    pub fn si(self) -> f64 {
        self.number * self.unit.1 + self.zero()
    }

    /// The unit's zero in SI; only temperatures have one.
    fn zero(self) -> f64 {
        match self.unit.0 {
            "C" => 273.15,
            "F" => 459.67 * 5.0 / 9.0,
            _ => 0.0,
        }
    }

    /// Another number in the same unit.
    pub fn with_number(self, number: f64) -> Quantity {
        Quantity { number, ..self }
    }

    /// A difference of this size, as a number in the unit of `other` (a unit's zero plays no part).
    pub fn span_in(self, other: Quantity) -> f64 {
        self.number * self.unit.1 / other.unit.1
    }

    /// The unit as it is written.
    pub(super) fn unit_name(self) -> &'static str {
        self.unit.0
    }

    /// The ends of a range in this quantity's unit, rounded to within it.
    pub(super) fn range_of(self, low: Quantity, high: Quantity) -> [Quantity; 2] {
        let within = |end: Quantity, inwards: f64| {
            let exact = self.number_of(end.si());
            let rounded = [exact, exact * inwards].map(|n| self.with_number(three_digits(n)));
            let mut fitting = rounded.into_iter();
            fitting
                .find(|q| q.si() >= low.si() && q.si() <= high.si())
                .unwrap_or(self.with_number(exact))
        };
        [within(low, 1.005), within(high, 0.995)]
    }

    /// An SI value in this quantity's unit.
    pub fn number_of(self, si: f64) -> f64 {
        (si - self.zero()) / self.unit.1
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Quantity { number, unit } = self;
        match unit.0 {
            "" => write!(f, "{number}"),
            name => write!(f, "{number} {name}"),
        }
    }
}

/// A value rounded to what a person would write.
pub(super) fn three_digits(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

/// Where the number at the start of `text` ends: digits, point, sign and an exponent.
pub(super) fn split_number(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    while end < bytes.len() {
        let exponent = matches!(bytes[end], b'e' | b'E')
            && bytes[end + 1..]
                .first()
                .is_some_and(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-'));
        let sign = matches!(bytes[end], b'+' | b'-')
            && (end == 0 || matches!(bytes[end - 1], b'e' | b'E'));
        if !(bytes[end].is_ascii_digit() || bytes[end] == b'.' || exponent || sign) {
            break;
        }
        end += 1;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    fn si(text: &str, dimension: Dimension) -> f64 {
        Quantity::parse(text, dimension).unwrap().si()
    }

    /// Factors of NIST Special Publication 811 (2008), appendix B, to its seven digits.
    #[test]
    fn factors_agree_with_nist_sp_811() {
        let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 5e-7, "{a} {b}");
        near(si("1 psi", Pressure), 6.894_757e3);
        near(si("1 fl oz", Volume), 2.957_353e-5);
        near(si("1 qt", Volume), 9.463_529e-4);
        near(si("1 gal", Volume), 3.785_412e-3);
        near(si("1 in2", Area), 6.4516e-4);
        near(si("1 lbf ft", Torque), 1.355_818);
        near(si("1 rpm", RotationalSpeed), 1.047_198e-1);
        near(si("77 F", Temperature), 298.15);
        near(si("25 C", Temperature), 298.15);
    }

    #[test]
    fn numbers_are_split_from_units() {
        assert_eq!(si("180mL", Volume), 180.0 * 1e-6);
        assert_eq!(si("-2.5e-3 bar", Pressure), -2.5e-3 * 1e5);
        assert_eq!(si("1e3 Pa s/m3", FlowResistance), 1e3);
        assert_eq!(si("25 %", Ratio), 0.25);
        assert_eq!(si("0.25", Ratio), 0.25);
    }

    #[test]
    fn faults_name_the_units_that_fit() {
        let fault = |text| Quantity::parse(text, Volume).unwrap_err();
        assert_eq!(fault("180 ml").problem, "unknown unit `ml` in `180 ml`");
        let remedy = fault("180 ml").remedy;
        assert!(remedy.contains("did you mean `180 mL`?"), "{remedy}");
        let Fault {
            problem, remedy, ..
        } = fault("180");
        assert!(
            problem.contains("no unit") && remedy.contains("fl oz"),
            "{problem} {remedy}"
        );
        for bad in ["", "mL", "nan mL", "1e999 mL", "1.2.3 mL", "é mL", "-"] {
            assert!(Quantity::parse(bad, Volume).is_err(), "{bad}");
        }
    }
}
