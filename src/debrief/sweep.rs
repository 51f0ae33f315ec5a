//! How pulse height and lag move with one field of a scenario.

use super::Units;
use crate::domain::Measures;
use crate::error::Faults;
use crate::plot::{Curve, Curves, Theme};
use crate::render::{Rendered, render};
use crate::scenario::{Source, Sweep};
use serde::Serialize;

/// What a sweep found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sensitivity {
    /// Path of the field.
    pub field: String,
    /// Unit of its values.
    pub unit: String,
    /// Unit of the pulse height: that of the first neck channel.
    pub height_unit: String,
    /// The leaking cylinder that was followed: the first of the scenario.
    pub cylinder: u32,
    /// A row a value.
    pub rows: Vec<Row>,
    #[serde(skip)]
    geometric: bool,
}

/// One value of the field and what came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// The field's value.
    pub value: f64,
    /// Events that passed gas.
    pub events: usize,
    /// Mean pulse height; `None` without a pulse.
    pub pulse_height: Option<f64>,
    /// Mean lag, ms.
    pub lag_ms: Option<f64>,
    /// Mean lag, crank degrees.
    pub lag_deg: Option<f64>,
}

/// Renders the scenario once for each value and follows its first leak. `None` if it has no leak.
///
/// # Errors
/// All faults of the scenario at the first value that it does not take.
pub fn sensitivity(source: &Source, sweep: &Sweep) -> Result<Option<Sensitivity>, Faults> {
    // All values are checked before the first is rendered.
    let drawn: Vec<_> = sweep
        .values
        .iter()
        .map(|value| Ok((*value, sweep.at(source, *value)?.draw(None, 0)?)))
        .collect::<Result<_, Faults>>()?;
    let mut found: Option<Sensitivity> = None;
    for (value, drawn) in drawn {
        let Rendered { capture, truth } = render(&drawn, "sweep");
        let Some(leak) = truth.leaks.first() else {
            return Ok(None);
        };
        let neck = |m: Measures| matches!(m, Measures::NeckPressure | Measures::NeckPulse);
        let height_unit = capture
            .card
            .channels
            .iter()
            .find(|c| neck(c.measures))
            .map(|c| c.unit.clone());
        let found = found.get_or_insert_with(|| Sensitivity {
            field: sweep.field.clone(),
            unit: sweep.unit.clone(),
            height_unit: height_unit.unwrap_or_default(),
            cylinder: leak.cylinder,
            rows: Vec::new(),
            geometric: sweep.geometric,
        });
        found.rows.push(Row {
            value,
            events: leak.events,
            pulse_height: leak.pulse_height,
            lag_ms: leak.lag_ms,
            lag_deg: leak.lag_deg,
        });
    }
    Ok(found)
}

impl Sensitivity {
    /// The picture: pulse height, lag in ms, lag in crank degrees.
    pub fn curves(&self, title: &str, units: Units, theme: Theme) -> Curves {
        let field = self.field.rsplit('.').next().unwrap_or(&self.field);
        let column = |of: fn(&Row) -> Option<f64>| self.rows.iter().map(of).collect();
        let curve = |name: &str, measures, y| Curve {
            name: name.into(),
            measures,
            y,
        };
        let (factor, _, unit) = units.of(&self.height_unit);
        let heights = self.rows.iter().map(|r| Some(r.pulse_height? * factor));
        Curves {
            title: title.into(),
            subtitle: format!(
                "Pulses of cylinder {} against {}",
                self.cylinder, self.field
            ),
            along: self.with_unit(&capitalised(&field.replace('_', " "))),
            x: self.rows.iter().map(|r| r.value).collect(),
            geometric: self.geometric,
            curves: vec![
                curve(
                    &format!("Pulse height ({unit})"),
                    Measures::NeckPressure,
                    heights.collect(),
                ),
                curve(
                    "Lag from TDC to the steepest rise (ms)",
                    Measures::NeckPulse,
                    column(|r| r.lag_ms),
                ),
                curve(
                    "The same in crank degrees",
                    Measures::StarterCurrent,
                    column(|r| r.lag_deg),
                ),
            ],
            theme,
            footnote: "Synthetic captures of an invented vehicle.".into(),
        }
    }

    /// A name of the field with its unit, if it has one.
    fn with_unit(&self, name: &str) -> String {
        if self.unit.is_empty() {
            name.into()
        } else {
            format!("{name} ({})", self.unit)
        }
    }

    /// The rows as an aligned table.
    pub fn table(&self) -> String {
        let show =
            |v: Option<f64>, places: usize| v.map_or("-".into(), |v| format!("{v:.places$}"));
        let head = self.with_unit(&self.field);
        let width = head.len().max(10);
        let mut text = format!(
            "{head:>width$}  events  height ({})  lag (ms)  lag (deg)\n",
            self.height_unit
        );
        let height_width = 9 + self.height_unit.len();
        for r in &self.rows {
            text += &format!(
                "{:>width$}  {:>6}  {:>height_width$}  {:>8}  {:>9}\n",
                r.value,
                r.events,
                show(r.pulse_height, 3),
                show(r.lag_ms, 1),
                show(r.lag_deg, 1),
            );
        }
        text
    }
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
