//! Colours that people with any colour vision can tell apart.
//!
//! Source of the palette: M. Okabe and K. Ito, "Color Universal Design", 2008. A measured quantity
//! has one colour, the same in every picture and theme. The palette's yellow is too light for a line
//! on white, so it is kept for what is filled: a leak and its gas, as a highlighter would mark them.
//! Nothing is told by colour alone; every trace has its name and every mark its form.

use super::Theme;
use crate::domain::Measures;

/// Red, green, blue.
pub(super) type Colour = [u8; 3];

const ORANGE: Colour = [230, 159, 0];
const SKY_BLUE: Colour = [86, 180, 233];
pub(super) const BLUISH_GREEN: Colour = [0, 158, 115];
const YELLOW: Colour = [240, 228, 66];
pub(super) const BLUE: Colour = [0, 114, 178];
pub(super) const VERMILLION: Colour = [213, 94, 0];
const REDDISH_PURPLE: Colour = [204, 121, 167];
/// Half-way between black and white, where the palette has black, which is lost on a dark ground.
pub(super) const GREY: Colour = [127, 127, 127];

/// What fills the box of a leaking cylinder; black is read on it in either theme.
pub(super) const HIGHLIGHT: Colour = YELLOW;
/// What follows the number of a cylinder that was called and does not leak.
pub(super) const CROSS: &str = "\u{2717}";
/// Text on [`HIGHLIGHT`].
pub(super) const ON_HIGHLIGHT: Colour = [0, 0, 0];

/// The colour of a measured quantity.
pub fn trace_colour(measures: Measures) -> Colour {
    match measures {
        Measures::NeckPressure => BLUISH_GREEN,
        Measures::NeckPulse => REDDISH_PURPLE,
        Measures::CoilTrigger => ORANGE,
        Measures::CylinderPressure => VERMILLION,
        Measures::StarterCurrent => BLUE,
        Measures::BatteryVoltage => SKY_BLUE,
        Measures::Probe => GREY,
    }
}

/// Width of a trace's line in pixels at normal size: the two light colours are drawn wider, so that
/// they carry as far on white as the others.
pub fn trace_width(measures: Measures) -> f64 {
    match trace_colour(measures) {
        ORANGE | SKY_BLUE => 2.0,
        _ => 1.5,
    }
}

/// Everything that is not a trace.
#[derive(Clone, Copy)]
pub(super) struct Colours {
    /// Around the traces.
    pub page: Colour,
    /// Behind the traces.
    pub panel: Colour,
    /// Behind the neck traces while gas passes.
    pub gas: Colour,
    pub grid: Colour,
    pub frame: Colour,
    /// Line of a plain TDC.
    pub tdc: Colour,
    /// Text, and marks that shall stand out.
    pub ink: Colour,
    /// Text of less weight.
    pub soft_ink: Colour,
}

impl Theme {
    pub(super) fn colours(self) -> Colours {
        match self {
            Theme::Light => Colours {
                page: [255, 255, 255],
                panel: [255, 255, 255],
                gas: mix([255, 255, 255], YELLOW, 0.5),
                grid: [228, 231, 233],
                frame: [150, 158, 164],
                tdc: [176, 183, 189],
                ink: [22, 26, 30],
                soft_ink: [72, 80, 87],
            },
            Theme::Dark => Colours {
                page: [17, 20, 24],
                panel: [24, 28, 33],
                gas: mix([24, 28, 33], YELLOW, 0.22),
                grid: [45, 51, 58],
                frame: [98, 107, 115],
                tdc: [88, 97, 105],
                ink: [238, 240, 242],
                soft_ink: [178, 186, 193],
            },
        }
    }
}

/// `share` of `over` on a ground of `under`; solid, so that nothing in a picture is transparent.
pub(super) fn mix(under: Colour, over: Colour, share: f64) -> Colour {
    std::array::from_fn(|i| {
        (f64::from(under[i]) * (1.0 - share) + f64::from(over[i]) * share).round() as u8
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;

    const ALL: [Measures; 7] = [
        Measures::NeckPressure,
        Measures::NeckPulse,
        Measures::CoilTrigger,
        Measures::CylinderPressure,
        Measures::StarterCurrent,
        Measures::BatteryVoltage,
        Measures::Probe,
    ];

    /// Contrast ratio as defined by WCAG 2.1, "relative luminance" and "contrast ratio".
    fn contrast(a: Colour, b: Colour) -> f64 {
        let luminance = |c: Colour| {
            let [r, g, b] = c.map(|v| {
                let v = f64::from(v) / 255.0;
                if v <= 0.04045 {
                    v / 12.92
                } else {
                    math::pow((v + 0.055) / 1.055, 2.4)
                }
            });
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_quantity_has_a_colour_of_its_own() {
        for (i, a) in ALL.iter().enumerate() {
            for b in &ALL[i + 1..] {
                assert_ne!(trace_colour(*a), trace_colour(*b), "{a:?} and {b:?}");
            }
        }
    }

    #[test]
    fn traces_are_seen_on_both_grounds() {
        // WCAG 2.1 asks 3:1 of graphics. The palette's orange and sky blue reach 2.2:1 on white, and
        // get a wider line and a name in print; darker, they would no longer be told from the rest.
        for measures in ALL {
            let colour = trace_colour(measures);
            let on_white = contrast(colour, Theme::Light.colours().panel);
            let on_dark = contrast(colour, Theme::Dark.colours().panel);
            let least = if trace_width(measures) > 1.5 {
                2.2
            } else {
                3.0
            };
            assert!(on_white >= least, "{measures:?} on white: {on_white:.2}");
            assert!(on_dark >= 3.0, "{measures:?} on dark: {on_dark:.2}");
        }
    }

    #[test]
    fn words_are_read_on_both_grounds() {
        // WCAG 2.1 asks 4.5:1 of text.
        for theme in [Theme::Light, Theme::Dark] {
            let c = theme.colours();
            for ground in [c.page, c.panel, c.gas] {
                assert!(contrast(c.ink, ground) >= 4.5);
            }
            assert!(contrast(c.soft_ink, c.page) >= 4.5);
            assert!(contrast(c.page, c.ink) >= 4.5);
        }
        assert!(contrast(ON_HIGHLIGHT, HIGHLIGHT) >= 4.5);
    }
}
