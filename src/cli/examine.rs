//! `inktell examine`: photographs of one sheet → a reading.

use super::capture::Capture;
use super::{Outcome, moment, output};
use anyhow::bail;
use inktell::examine::{self, Examination, Examined};
use inktell::photo::scale::{POSSIBLE_PX_PER_MM, ScaleSource};
use inktell::photo::{Field, ReadOptions};
use inktell::report::html::{self, Circumstances};
use inktell::report::json::NotRead;
use inktell::report::{figures, json, terminal};
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell examine plate-7.jpg --px-per-mm 56.2
      a short summary on the terminal
  inktell examine plate-7.jpg --px-per-mm 56.2 --json - > plate-7.json
      one JSON document, and nothing else, on standard output
  inktell examine head.jpg border.jpg --loupe-field-mm 20 --report plate-7.html
      two places of one sheet through a loupe with a 20 mm field

Name photographs of one sheet only; examine each sheet on its own.
The scale of a scan is taken from its resolution tag where none is given. Without
any, figures in millimetres are withheld; the rest is still weighed.

Exit codes:
  0  done; \"undetermined\" is a result too
  2  trouble: an argument is wrong, a file cannot be read or written
     (with several photographs the others are still examined)";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Photographs of one sheet (JPEG, PNG, TIFF or WebP)
    #[arg(required = true, value_name = "PHOTO")]
    photos: Vec<PathBuf>,
    #[command(flatten)]
    capture: Capture,
    /// Write the JSON document to a file, or to standard output with "-"
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Write the report, one HTML page that needs no other file, to a file or to "-"
    #[arg(long, value_name = "FILE", visible_alias = "html")]
    report: Option<PathBuf>,
    /// Moment printed in the report instead of now, such as 2026-01-02T10:00:00Z
    #[arg(long, value_name = "MOMENT", value_parser = moment::parse)]
    time: Option<jiff::Timestamp>,
    /// No summary and no progress; errors are still reported
    #[arg(long, short)]
    quiet: bool,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    if is_standard_output(&options.json) && is_standard_output(&options.report) {
        bail!("--json and --report cannot both go to standard output; give one a file name");
    }
    refuse_overwriting(options)?;
    let (photos, not_read) = examine_each(options, &options.capture.read_options()?);
    if photos.is_empty() {
        bail!("no photograph could be read, so there is nothing to examine");
    }
    let examination = examine::together(photos, options.capture.prior.clone().map(|prior| prior.0));
    write_results(options, &examination, &not_read)?;
    Ok(if not_read.is_empty() {
        Outcome::Done
    } else {
        Outcome::Partly
    })
}

fn refuse_overwriting(options: &Options) -> anyhow::Result<()> {
    let results = [("--json", &options.json), ("--report", &options.report)];
    let results: Vec<(&str, &Path)> = results
        .iter()
        .filter_map(|(option, target)| Some((*option, target.as_deref()?)))
        .collect();
    let rule = options.capture.scale_from.iter();
    let sources: Vec<&Path> = options
        .photos
        .iter()
        .chain(rule)
        .map(PathBuf::as_path)
        .collect();
    output::refuse_overwriting(&results, &sources)
}

/// Examines the photographs one after the other; a bad one is reported and the rest go on.
fn examine_each(options: &Options, read_options: &ReadOptions) -> (Vec<Examined>, Vec<NotRead>) {
    let progress = output::progress(options.photos.len(), options.quiet);
    let (mut photos, mut not_read) = (Vec::new(), Vec::new());
    for file in &options.photos {
        progress.set_message(format!("measuring {}", file.display()));
        match examine_one(file, read_options) {
            Ok(examined) => {
                let rule = examine::shows_rule(&examined).then_some(LIKE_A_RULE);
                for note in loupe_not_used(options, &examined).into_iter().chain(rule) {
                    progress.suspend(|| eprintln!("inktell: {}: {note}", file.display()));
                }
                photos.push(examined);
            }
            Err(why) => {
                progress.suspend(|| eprintln!("inktell: {why}"));
                not_read.push(NotRead {
                    file: file.display().to_string(),
                    why,
                });
            }
        }
        progress.inc(1);
    }
    progress.finish_and_clear();
    (photos, not_read)
}

/// What is said of a photograph on which graduations are seen.
const LIKE_A_RULE: &str = "looks like a photograph of a rule, and is weighed as a print; if it does show a rule, leave it out and give it as --scale-from";

/// That the loupe's field was given and the scale is not taken from it, and why.
fn loupe_not_used(options: &Options, examined: &Examined) -> Option<&'static str> {
    options.capture.loupe_field_mm?;
    let source = examined.photo.scale.as_ref().map(|scale| scale.source);
    match source {
        Some(ScaleSource::LoupeField) => None,
        Some(ScaleSource::Given | ScaleSource::Rule) => {
            Some("--loupe-field-mm is not used, as another scale was given")
        }
        _ if matches!(examined.photo.field, Field::Round { .. }) => Some(
            "--loupe-field-mm is not used, as a field of that diameter would give a scale that no photograph of a print has; state it in millimetres",
        ),
        _ => Some("--loupe-field-mm is not used, as no whole round field is seen"),
    }
}

fn examine_one(file: &Path, options: &ReadOptions) -> Result<Examined, String> {
    if file.is_dir() {
        return Err(folder_given(file));
    }
    examine::photograph(file, options).map_err(|error| error.to_string())
}

fn folder_given(folder: &Path) -> String {
    let empty = std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_none());
    let kind = if empty { "an empty folder" } else { "a folder" };
    format!(
        "{}: is {kind}, not a photograph; name the photographs of one sheet, such as {}",
        folder.display(),
        folder.join("head.jpg").display()
    )
}

fn write_results(
    options: &Options,
    examination: &Examination,
    not_read: &[NotRead],
) -> anyhow::Result<()> {
    if let Some(target) = &options.report {
        let page = html::page(
            examination,
            &Circumstances {
                made: &moment::in_words(options.time),
                parameters: &parameters(&options.capture),
                not_read,
                lot: None,
            },
        );
        output::write(target, &page)?;
    }
    if let Some(target) = &options.json {
        output::write(target, &json::text(examination, not_read)?)?;
    }
    let taken = is_standard_output(&options.json) || is_standard_output(&options.report);
    if !options.quiet && !taken {
        let width = output::terminal_width();
        output::print(&terminal::summary(examination, not_read, width))?;
    }
    Ok(())
}

fn is_standard_output(target: &Option<PathBuf>) -> bool {
    target.as_deref().is_some_and(output::is_standard_output)
}

/// What the user asked for, for the report.
fn parameters(capture: &Capture) -> Vec<(String, String)> {
    let given = |label: &str, value: Option<String>| Some((label.to_owned(), value?));
    let prior = capture.prior.as_ref().map(|prior| {
        let shares = prior.0.iter();
        let text = shares.map(|(p, v)| format!("{} {}", p.name(), figures::per_cent(*v)));
        text.collect::<Vec<_>>().join(", ")
    });
    [
        given(
            "Scale given",
            capture
                .px_per_mm
                .map(|v| format!("{} px/mm", figures::plain(v))),
        ),
        given(
            "Scale taken from",
            capture.scale_from.as_ref().map(|f| f.display().to_string()),
        ),
        given(
            "Loupe field given",
            capture
                .loupe_field_mm
                .map(|v| format!("{} mm", figures::plain(v))),
        ),
        given("Priors given", prior),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// A scale in pixels per millimetre.
pub fn px_per_mm(text: &str) -> Result<f64, String> {
    let value = above_zero(text)?;
    let (least, most) = (POSSIBLE_PX_PER_MM.start(), POSSIBLE_PX_PER_MM.end());
    if value > *most {
        return Err(format!(
            "is finer than any photograph of a print ({most:.0} at most); is it a slip, or pixels per inch? Those divided by 25.4 are pixels per millimetre"
        ));
    }
    if value < *least {
        return Err(format!(
            "is coarser than any photograph of a print ({least} at least): a pixel would be broader than {:.0} mm",
            1.0 / least
        ));
    }
    Ok(value)
}

/// A number above 0.
pub fn above_zero(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(value),
        _ if text.contains(',') => Err("must be a number above 0, with a point: 56.2".into()),
        _ => Err("must be a number above 0".into()),
    }
}
