//! `inktell scale`: pixels per millimetre from a photograph of a rule.

use super::examine::above_zero;
use super::{Outcome, output};
use anyhow::{Context, bail};
use inktell::photo::rule::{RuleReading, measure_common_rule, measure_rule};
use inktell::photo::scale::POSSIBLE_PX_PER_MM;
use inktell::photo::{self, ReadOptions};
use inktell::report::figures;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell scale rule.jpg
      a rule divided in millimetres or half millimetres
  inktell scale graticule.jpg --graduation-mm 0.1
      a graticule with tenths of a millimetre

Photograph the rule with the same loupe, distance and zoom as the print, flat
and in focus. Then give the figure to `inktell examine --px-per-mm`, or let
`inktell examine --scale-from rule.jpg` do both.

Exit codes:
  0  done
  2  trouble: an argument is wrong, the file cannot be read, or no graduations
     are found in it";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Photograph of a rule or graticule
    photo: PathBuf,
    /// Distance of the shortest graduations in millimetres; by default 1 or 0.5, as the pattern of long and short ones has it
    #[arg(long, value_name = "MM", value_parser = above_zero)]
    graduation_mm: Option<f64>,
    /// Largest picture accepted, in megapixels
    #[arg(long, value_name = "NUMBER", default_value = "200", value_parser = above_zero)]
    max_megapixels: f64,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let read = ReadOptions {
        max_megapixels: options.max_megapixels,
        ..ReadOptions::default()
    };
    let reading = measure(&options.photo, options.graduation_mm, &read)?;
    output::print(&in_words(&reading))?;
    Ok(Outcome::Done)
}

/// Measures the scale in a photograph of a rule; an ordinary one where no graduation is stated.
pub fn measure(
    file: &Path,
    graduation_mm: Option<f64>,
    options: &ReadOptions,
) -> anyhow::Result<RuleReading> {
    if file.is_dir() {
        bail!(
            "{}: is a folder; name one photograph of a rule",
            file.display()
        );
    }
    let photo = photo::read(file, options)?;
    let measured = match graduation_mm {
        Some(mm) => measure_rule(&photo, mm),
        None => measure_common_rule(&photo),
    };
    let reading = measured.with_context(|| file.display().to_string())?;
    let px_per_mm = reading.scale.value;
    // A little beyond, as what is measured is off by a little.
    let possible = 0.99 * POSSIBLE_PX_PER_MM.start()..=1.01 * POSSIBLE_PX_PER_MM.end();
    if !possible.contains(&px_per_mm) {
        bail!(
            "{}: its graduations, taken as {} mm apart, give {px_per_mm:.2e} pixels a millimetre, which no photograph of a print has; give --graduation-mm in millimetres",
            file.display(),
            reading.graduation_mm
        );
    }
    Ok(reading)
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
