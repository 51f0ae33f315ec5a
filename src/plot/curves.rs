//! Curves over one quantity: what a sweep found, a panel a curve.

use super::axis::{Axis, nice_ticks};
use super::palette::trace_colour;
use super::picture::{NAME, NOTE, TICK, WIDTH};
use super::scene::{Scene, around, middle};
use super::{Drawing, Theme};
use crate::domain::Measures;
use crate::error::{Fault, Faults};
use plotters::style::text_anchor::HPos;

/// Left and right edge of the panels.
const PANEL: [f64; 2] = [147.0, 1552.0];
/// Height of a panel, and of what lies above it, in which its name stands.
const HEIGHT: f64 = 320.0;
const GAP: f64 = 70.0;
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

impl Drawing for Curves {
    fn scene(&self) -> Result<Scene, Faults> {
        self.check()?;
        let ends = [self.x[0], self.x[self.x.len() - 1]];
        let along = if self.geometric {
            Axis::geometric(ends, PANEL)
        } else {
            Axis::new(ends, PANEL, nice_ticks(ends, 10))
        };
        let mut scene = Scene::new(WIDTH, self.theme);
        let mut y = scene.head(&self.title, &self.subtitle);
        let first = y + GAP;
        let panels: Vec<[f64; 2]> = (0..self.curves.len())
            .map(|i| first + (HEIGHT + GAP) * i as f64)
            .map(|top| [top, top + HEIGHT])
            .collect();
        for panel in &panels {
            scene.area(PANEL, *panel, scene.colours.panel);
            y = panel[1];
        }
        let tick = scene.plain(TICK);
        along.draw_level(&mut scene, tick, y + 35.0, &panels);
        for (curve, panel) in self.curves.iter().zip(&panels) {
            curve.draw(&mut scene, &self.x, &along, *panel);
        }
        let at = [middle(PANEL), y + 72.0];
        scene.write(&self.along, scene.bold(NAME), at, HPos::Center);
        scene.foot(&self.footnote, y + 85.0);
        Ok(scene)
    }
}

impl Curves {
    fn check(&self) -> Result<(), Faults> {
        let drawable =
            |c: &Curve| c.y.len() == self.x.len() && c.y.iter().flatten().all(|y| y.is_finite());
        if self.x.len() >= 2
            && self.x.iter().all(|x| x.is_finite())
            && self.x.windows(2).all(|w| w[0] < w[1])
            && (!self.geometric || self.x[0] > 0.0)
            && !self.curves.is_empty()
            && self.curves.iter().all(drawable)
        {
            return Ok(());
        }
        let remedy =
            "give two or more finite, ascending values, and a finite value or none for each";
        Err(Fault::new("curves", "they cannot be drawn", remedy).into())
    }
}

impl Curve {
    fn draw(&self, scene: &mut Scene, x: &[f64], along: &Axis, [top, bottom]: [f64; 2]) {
        let c = scene.colours;
        let panel = [top, bottom];
        // Both quantities of a sweep count from zero, so that a flat curve looks flat.
        let low = self.y.iter().flatten().copied().fold(0.0, f64::min);
        let high = self.y.iter().flatten().copied().fold(low + 1e-9, f64::max);
        let margin = (high - low) * MARGIN;
        let low = if low < 0.0 { low - margin } else { low };
        let values = [low, high + margin];
        let values = Axis::new(values, [bottom, top], nice_ticks(values, 6));
        values.draw_upright(scene, scene.plain(TICK), PANEL[0] - 13.0, &[PANEL]);
        scene.frame(PANEL, panel, 1.0, c.frame);
        let at = [PANEL[0], top - 16.0];
        scene.write(&self.name, scene.bold(NAME), at, HPos::Left);

        let colour = trace_colour(self.measures);
        let points: Vec<Option<[f64; 2]>> = x
            .iter()
            .zip(&self.y)
            .map(|(x, y)| y.map(|y| [along.at(*x), values.at(y)]))
            .collect();
        for run in points.split(Option::is_none).filter(|run| run.len() > 1) {
            scene.path(run.iter().flatten().copied().collect(), 3.5, colour);
        }
        for [x, y] in points.iter().flatten() {
            scene.area(around(*x, 5.0), around(*y, 5.0), colour);
        }
        if points.iter().all(Option::is_none) {
            let nothing = "nothing to see along the whole range";
            scene.centre(nothing, scene.plain(NOTE), PANEL, panel);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::tests::{assert_legible, assert_well_formed};
    use crate::plot::{png, svg};

    fn curves() -> Curves {
        Curves {
            title: "Sweep".into(),
            subtitle: "Pulses of cylinder 3".into(),
            along: "air pocket (mL)".into(),
            x: vec![50.0, 150.0, 500.0, 1500.0],
            geometric: true,
            curves: vec![
                Curve {
                    name: "Pulse height (kPa)".into(),
                    measures: Measures::NeckPressure,
                    y: vec![Some(7.8), Some(4.3), None, Some(0.57)],
                },
                Curve {
                    name: "Lag (ms)".into(),
                    measures: Measures::NeckPulse,
                    y: vec![Some(-7.8), None, None, Some(5.0)],
                },
            ],
            theme: Theme::Light,
            footnote: "Invented data.".into(),
        }
    }

    #[test]
    fn curves_are_drawn_or_refused() {
        let document = svg(&curves()).unwrap();
        assert!(document.contains("air pocket (mL)") && document.contains("\n1000\n"));
        assert_well_formed(&document);
        assert_legible(&curves());
        assert!(png(&curves()).unwrap().len() > 1000);
        let mut nothing = curves();
        nothing.title = "a title longer than the picture is wide ".repeat(5);
        nothing.curves[0].y = vec![None; 4];
        assert!(svg(&nothing).unwrap().contains("nothing to see"));
        assert_legible(&nothing);
        let faulty: [fn(&mut Curves); 5] = [
            |c| c.x = vec![1.0],
            |c| c.x[0] = -1.0,
            |c| c.x[1] = f64::NAN,
            |c| c.curves[0].y = vec![],
            |c| c.curves.clear(),
        ];
        for spoil in faulty {
            let mut c = curves();
            spoil(&mut c);
            assert!(svg(&c).is_err());
        }
    }
}
