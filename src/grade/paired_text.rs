//! A comparison as text.

use super::columns::{lines, numbers, words};
use super::factor::FACTORS;
use super::paired::{Breakdown, Comparison, Paired};
use super::report::percent;

impl Comparison {
    /// The comparison as text of at most 100 columns, ending in a line feed.
    pub fn to_text(&self) -> String {
        let all = &self.all;
        let accuracies = all.accuracies().unwrap_or_default();
        let mut text = format!(
            "old  {}  accuracy {}\nnew  {}  accuracy {}\n\n{} captures in both: {} right in both, {} newly right, \
             {} newly wrong, {} wrong in both\ndifference {} points (95 % interval {}), exact McNemar p {}\n",
            self.old,
            percent(accuracies[0]),
            self.new,
            percent(accuracies[1]),
            all.n,
            all.both_right,
            all.only_new_right,
            all.only_old_right,
            all.both_wrong,
            points(all.difference),
            between(all),
            match probability(all.p_value) {
                p if p.starts_with('<') => p,
                p => format!("= {p}"),
            },
        );
        for (n, file) in [(self.only_in_old, &self.old), (self.only_in_new, &self.new)] {
            if n > 0 {
                text += &format!("{n} captures stand in {file} alone and are left out\n");
            }
        }
        text += &format!(
            "\nBy what the captures are like (p adjusted by Holm for {} questions)\n\n{}",
            self.asked(),
            self.factors()
        );
        if !self.newly_wrong.is_empty() {
            let more = all.only_old_right - self.newly_wrong.len();
            let names = self.newly_wrong.join("\n  ");
            text += &format!("\nNewly wrong\n\n  {names}\n");
            if more > 0 {
                text += &format!("  and {more} more\n");
            }
        }
        match self.regressions.is_empty() {
            true => text + "\nNo regression.\n",
            false => text + &format!("\nRegressions\n\n  {}\n", self.regressions.join("\n  ")),
        }
    }

    fn factors(&self) -> String {
        let head = [
            "",
            "",
            "captures",
            "old %",
            "new %",
            "points",
            "95 % interval",
            "p",
        ];
        let mut rows = vec![head.map(String::from)];
        for Breakdown { factor, levels } in &self.factors {
            let meaning = FACTORS
                .iter()
                .find(|f| f.name == *factor)
                .map_or("", |f| f.meaning);
            for (i, level) in levels.iter().enumerate() {
                let [old, new] = level.paired.accuracies().unwrap_or_default();
                let mark = if level.regression { " !" } else { "" };
                rows.push([
                    if i == 0 {
                        meaning.into()
                    } else {
                        String::new()
                    },
                    level.level.clone(),
                    level.paired.n.to_string(),
                    bare(old),
                    bare(new),
                    points(level.paired.difference),
                    between(&level.paired),
                    format!("{}{mark}", probability(level.p_adjusted)),
                ]);
            }
        }
        let columns = [
            words(21),
            words(17),
            numbers(8),
            numbers(5),
            numbers(5),
            numbers(6),
            numbers(15),
            words(9),
        ];
        lines(columns, &rows).concat()
    }
}

fn points(share: Option<f64>) -> String {
    share.map_or(String::new(), |share| format!("{:+.1}", 100.0 * share))
}

fn bare(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

fn between(paired: &Paired) -> String {
    paired.difference_95.map_or(String::new(), |[low, high]| {
        format!("{:+.1} to {:+.1}", 100.0 * low, 100.0 * high)
    })
}

fn probability(p: f64) -> String {
    match p {
        p if p < 0.001 => "< 0.001".into(),
        p => format!("{p:.3}"),
    }
}
