//! Curves over one quantity: what a sweep found, a panel a curve.

use super::Theme;
use super::palette::{Colours, trace_colour};
use super::scene::{Anchor, Scene, Words};
use super::text;
use super::ticks::nice_ticks;
use crate::domain::Measures;
use crate::error::{Fault, Faults};
use crate::math;

const WIDTH: f64 = 1200.0;
const LEFT: f64 = 110.0;
const RIGHT: f64 = 1170.0;
const TOP: f64 = 118.0;
const PANEL: f64 = 240.0;
const GAP: f64 = 56.0;
const FOOT: f64 = 110.0;
/// Share of a panel's height left free above and below its curve.
const MARGIN: f64 = 0.12;

/// Curves over a common quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Curves {
    /// First line.
    pub title: String,
    /// Second line; may be empty.
    pub subtitle: String,
    /// Name and unit of the common quantity.
    pub along: String,
    /// Its values, ascending; at least two.
    pub x: Vec<f64>,
    /// Whether equal ratios, not equal differences, stand equally far apart; needs values above zero.
    pub geometric: bool,
    /// The curves, from top to bottom.
    pub curves: Vec<Curve>,
    /// Light or dark.
    pub theme: Theme,
    /// Small print; may be empty.
    pub footnote: String,
}

/// One curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Name and unit.
    pub name: String,
    /// Colour by what it is about.
    pub measures: Measures,
    /// A value for each of [`Curves::x`]; `None` where there is nothing to show.
    pub y: Vec<Option<f64>>,
}

impl Curves {
    /// The shapes of the picture.
    ///
    /// # Errors
    /// Values that cannot be drawn.
    pub(super) fn compose(&self) -> Result<Scene, Faults> {
        self.check()?;
        let colours = self.theme.colours();
        let height = TOP + self.curves.len() as f64 * (PANEL + GAP) - GAP + FOOT;
        let mut scene = Scene::new([WIDTH as u32, height as u32], colours.page);
        say(
            &mut scene,
            &self.title,
            30,
            true,
            colours.ink,
            [26.0, 42.0],
            Anchor::Start,
        );
        say(
            &mut scene,
            &self.subtitle,
            20,
            false,
            colours.soft_ink,
            [26.0, 72.0],
            Anchor::Start,
        );
        let mut top = TOP;
        for curve in &self.curves {
            self.panel(&mut scene, curve, [top, top + PANEL], &colours);
            top += PANEL + GAP;
        }
        let bottom = top - GAP;
        for (place, label) in self.x_ticks() {
            say(
                &mut scene,
                &label,
                18,
                false,
                colours.soft_ink,
                [place, bottom + 26.0],
                Anchor::Middle,
            );
        }
        let middle = (LEFT + RIGHT) / 2.0;
        say(
            &mut scene,
            &self.along,
            19,
            true,
            colours.ink,
            [middle, bottom + 54.0],
            Anchor::Middle,
        );
        say(
            &mut scene,
            &self.footnote,
            17,
            false,
            colours.soft_ink,
            [26.0, height - 16.0],
            Anchor::Start,
        );
        Ok(scene)
    }

    fn check(&self) -> Result<(), Faults> {
        let finite = self.x.iter().all(|x| x.is_finite()) && self.x.windows(2).all(|w| w[0] < w[1]);
        let curves = self
            .curves
            .iter()
            .all(|c| c.y.len() == self.x.len() && c.y.iter().flatten().all(|y| y.is_finite()));
        if self.x.len() < 2
            || !finite
            || (self.geometric && self.x[0] <= 0.0)
            || !curves
            || self.curves.is_empty()
        {
            let remedy =
                "give two or more finite, ascending values, and a finite value or none for each";
            return Err(Fault::new("curves", "they cannot be drawn", remedy).into());
        }
        Ok(())
    }

    fn place(&self, x: f64) -> f64 {
        let scale = |x: f64| if self.geometric { math::ln(x) } else { x };
        let (low, high) = (scale(self.x[0]), scale(self.x[self.x.len() - 1]));
        LEFT + (RIGHT - LEFT) * (scale(x) - low) / (high - low)
    }

    /// Places and labels along the common axis: round numbers, or where ratios count, the values of
    /// 1, 2 and 5 in every decade.
    fn x_ticks(&self) -> Vec<(f64, String)> {
        let (low, high) = (self.x[0], self.x[self.x.len() - 1]);
        if !self.geometric {
            return nice_ticks(low, high, 10)
                .marks
                .into_iter()
                .map(|(x, label)| (self.place(x), label))
                .collect();
        }
        let first = (math::ln(low) / math::ln(10.0)).floor() as i32;
        let last = (math::ln(high) / math::ln(10.0)).ceil() as i32;
        (first..=last)
            .flat_map(|decade| {
                ["1", "2", "5"].map(|m| format!("{m}e{decade}").parse().unwrap_or(f64::NAN))
            })
            .filter(|x: &f64| *x >= low * (1.0 - 1e-9) && *x <= high * (1.0 + 1e-9))
            .map(|x| (self.place(x), x.to_string()))
            .collect()
    }

    fn panel(&self, scene: &mut Scene, curve: &Curve, [top, bottom]: [f64; 2], colours: &Colours) {
        scene.area([LEFT, top], [RIGHT, bottom], colours.panel);
        let values: Vec<f64> = curve.y.iter().flatten().copied().collect();
        // Both quantities of a sweep count from zero, so that a flat curve looks flat.
        let low = values.iter().copied().fold(0.0, f64::min);
        let high = values.iter().copied().fold(low + 1e-9, f64::max);
        let margin = (high - low) * MARGIN;
        let (low, high) = (if low < 0.0 { low - margin } else { low }, high + margin);
        let height = |y: f64| bottom - (bottom - top) * (y - low) / (high - low);
        for (place, _) in self.x_ticks() {
            scene.upright(place, [top, bottom], 1.0, colours.grid);
        }
        for (y, label) in nice_ticks(low, high, 6).marks {
            scene.level(height(y), [LEFT, RIGHT], 1.0, colours.grid);
            say(
                scene,
                &label,
                18,
                false,
                colours.soft_ink,
                [LEFT - 10.0, height(y) + 6.0],
                Anchor::End,
            );
        }
        for y in [top, bottom] {
            scene.level(y, [LEFT, RIGHT], 1.0, colours.frame);
        }
        for x in [LEFT, RIGHT] {
            scene.upright(x, [top, bottom], 1.0, colours.frame);
        }
        let colour = trace_colour(curve.measures);
        let points: Vec<Option<[f64; 2]>> = self
            .x
            .iter()
            .zip(&curve.y)
            .map(|(x, y)| y.map(|y| [self.place(*x), height(y)]))
            .collect();
        for run in points.split(Option::is_none).filter(|run| run.len() > 1) {
            scene.path(run.iter().flatten().copied().collect(), 2.5, colour);
        }
        for [x, y] in points.into_iter().flatten() {
            scene.area([x - 4.0, y - 4.0], [x + 4.0, y + 4.0], colour);
        }
        if values.is_empty() {
            let middle = [(LEFT + RIGHT) / 2.0, (top + bottom) / 2.0];
            say(
                scene,
                "nothing to see along the whole range",
                18,
                false,
                colours.soft_ink,
                middle,
                Anchor::Middle,
            );
        }
        say(
            scene,
            &curve.name,
            19,
            true,
            colours.ink,
            [LEFT, top - 12.0],
            Anchor::Start,
        );
    }
}

fn say(
    scene: &mut Scene,
    text: &str,
    size: u32,
    bold: bool,
    colour: [u8; 3],
    at: [f64; 2],
    anchor: Anchor,
) {
    let text = text::elide(text, size, bold, WIDTH - 40.0);
    scene.words(Words {
        text,
        size,
        bold,
        colour,
        at,
        anchor,
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::{curves_png, curves_svg};

    fn curves() -> Curves {
        Curves {
            title: "Sweep".into(),
            subtitle: String::new(),
            along: "air pocket (mL)".into(),
            x: vec![50.0, 150.0, 500.0, 1500.0],
            geometric: true,
            curves: vec![Curve {
                name: "Pulse height (kPa)".into(),
                measures: Measures::NeckPressure,
                y: vec![Some(7.8), Some(4.3), None, Some(0.57)],
            }],
            theme: Theme::Light,
            footnote: String::new(),
        }
    }

    #[test]
    fn ratios_stand_equally_far_apart() {
        let c = curves();
        assert!((c.place(150.0) - c.place(50.0) - (c.place(1500.0) - c.place(500.0))).abs() < 1e-9);
        let labels: Vec<String> = c.x_ticks().into_iter().map(|t| t.1).collect();
        assert_eq!(labels, ["50", "100", "200", "500", "1000"]);
    }

    #[test]
    fn curves_are_drawn_or_refused() {
        assert!(curves_svg(&curves()).unwrap().contains("air pocket (mL)"));
        assert!(curves_png(&curves()).unwrap().len() > 1000);
        let mut nothing = curves();
        nothing.curves[0].y = vec![None; 4];
        assert!(curves_svg(&nothing).unwrap().contains("nothing to see"));
        let faulty: [fn(&mut Curves); 4] = [
            |c| c.x = vec![1.0],
            |c| c.x[0] = -1.0,
            |c| c.x[1] = f64::NAN,
            |c| c.curves[0].y = vec![],
        ];
        for spoil in faulty {
            let mut c = curves();
            spoil(&mut c);
            assert!(curves_svg(&c).is_err());
        }
    }
}
