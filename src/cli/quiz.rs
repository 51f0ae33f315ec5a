//! `waterjacket quiz`: a pack of captures for a class, and its key.

use super::options::UnitsOption;
use super::{Outcome, interrupt, print, print_json};
use crate::error::Faults;
use crate::files::new_folder;
use crate::quiz::{self, Kind, Pack, Quiz};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::path::PathBuf;

/// Build a quiz pack: a student folder and a key folder that never mix
///
/// The quiz file names scenarios, how many captures of each, the difficulty wanted, and the shares of
/// healthy cars and of captures that do not settle it. FOLDER/student is for the class, FOLDER/key stays
/// with you. Whoever has the quiz file and the seed can build the key: use a seed nobody guesses.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  waterjacket quiz scenarios/quizzes/first-quiz.yaml --seed 90210447 --out out/first-quiz\n  \
    waterjacket grade calls.csv --key out/first-quiz/key"
)]
pub struct Arguments {
    /// Quiz file
    #[arg(value_name = "QUIZ")]
    quiz: PathBuf,
    /// Folder for the pack; it must be new or empty
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Seed in place of the quiz file's own
    #[arg(long, value_name = "SEED")]
    seed: Option<u64>,
    /// Units of the pictures and the words
    #[arg(long, value_enum, default_value_t)]
    units: UnitsOption,
    /// Print as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Built {
    student: PathBuf,
    key: PathBuf,
    page: Option<PathBuf>,
    leak: usize,
    healthy: usize,
    untold: usize,
    #[serde(flatten)]
    pack: Pack,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    interrupt::listen()?;
    let (quiz, sources) = Quiz::open(&arguments.quiz)?;
    new_folder::free(&arguments.out)?;
    let seed = arguments.seed.unwrap_or(quiz.content.seed);
    let total: usize = quiz.content.scenarios.iter().map(|e| e.captures).sum();
    let bar = ProgressBar::new(total as u64).with_style(
        ProgressStyle::with_template("{bar:30} {pos}/{len} captures {msg}")
            .unwrap_or_else(|_| ProgressStyle::default_bar()),
    );
    let mut step = |at: usize| {
        bar.set_position(at as u64);
        interrupt::check("no pack was built")
    };
    bar.set_message("drawn");
    let items = quiz::draw(&quiz, &sources, seed, &mut step)?;
    let count = |kind| items.iter().filter(|i| i.kind == kind).count();
    let [leak, healthy, untold] = [Kind::Leak, Kind::Healthy, Kind::Untold].map(count);
    bar.set_message("written");
    let units = arguments.units.into();
    let pack = quiz::write(&quiz, items, seed, units, &arguments.out, &mut step)?;
    bar.finish_and_clear();
    let page = arguments.out.join("student").join("page.html");
    let built = Built {
        page: page.is_file().then_some(page),
        student: arguments.out.join("student"),
        key: arguments.out.join("key"),
        leak,
        healthy,
        untold,
        pack,
    };
    if arguments.json {
        print_json(&built)?;
    } else {
        print(&format!(
            "{}\n{}\n{}{total} captures: {leak} with a leak to name, {healthy} healthy, {untold} that cannot be told\npack {}\n",
            built.student.display(),
            built.key.display(),
            match built.page {
                Some(_) => "",
                None => "no page: it would be too large; `waterjacket page` takes some captures\n",
            },
            built.pack.id
        ))?;
    }
    Ok(Outcome::Done)
}
