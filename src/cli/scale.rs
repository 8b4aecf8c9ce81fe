//! `inktell scale`: pixels per millimetre from a photograph of a rule.

use super::examine::above_zero;
use super::{Outcome, output};
use anyhow::{Context, bail};
use inktell::photo::rule::{RuleReading, measure_rule};
use inktell::photo::{self, ReadOptions};
use inktell::report::figures;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell scale rule.jpg
      a rule whose shortest graduations are millimetres
  inktell scale graticule.jpg --graduation-mm 0.1
      a graticule with tenths of a millimetre

Photograph the rule with the same loupe, distance and zoom as the print, flat
and in focus. Then give the figure to `inktell examine --px-per-mm`, or let
`inktell examine --scale-from rule.jpg` do both.";

/// Distance of the graduations of a rule where nothing else is said, mm: rules are divided so.
pub const RULE_GRADUATION_MM: f64 = 1.0;

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Photograph of a rule or graticule
    photo: PathBuf,
    /// Distance of the shortest graduations in millimetres
    #[arg(long, value_name = "MM", default_value_t = RULE_GRADUATION_MM, value_parser = above_zero)]
    graduation_mm: f64,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let reading = measure(&options.photo, options.graduation_mm)?;
    output::print(&in_words(&reading))?;
    Ok(Outcome::Done)
}

/// Measures the scale in a photograph of a rule.
pub fn measure(file: &Path, graduation_mm: f64) -> anyhow::Result<RuleReading> {
    if file.is_dir() {
        bail!(
            "{}: is a folder; name one photograph of a rule",
            file.display()
        );
    }
    let photo = photo::read(file, &ReadOptions::default())?;
    measure_rule(&photo, graduation_mm).with_context(|| file.display().to_string())
}

fn in_words(reading: &RuleReading) -> String {
    let scale = &reading.scale;
    let mut text = format!(
        "{}\nfrom {} graduations, {} apart, along {}\n",
        figures::value_with_interval(scale.value, Some([scale.lo, scale.hi]), "px/mm"),
        reading.graduations,
        figures::measured(&reading.spacing_px),
        figures::value_with_interval(reading.direction_deg, None, "°"),
    );
    for note in &reading.notes {
        text.push_str(note);
        text.push('\n');
    }
    text.push_str(&format!(
        "use it with: inktell examine PHOTO --px-per-mm {:.3}\n",
        scale.value
    ));
    text
}
