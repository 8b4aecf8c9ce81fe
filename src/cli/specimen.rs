//! `inktell specimen`: drawn photographs whose truth is known.

use super::{Outcome, output};
use anyhow::{Context, bail};
use clap::ValueEnum;
use inktell::report::words;
use inktell::specimen::series::{SeedFamily, SeriesRequest, Specimen, specimen};
use inktell::specimen::sheet::Origin;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell specimen trial-set --count 10
      ten drawn photographs, the five processes in turn
  inktell specimen trial-set --process halftone --count 4 --first 100
      four reproductions, numbered 100 to 103

Each photograph has a .json file beside it with the exact truth. Files end in
their number, and the same numbers give the same files.

Exit codes:
  0  done
  2  trouble: an argument is wrong, a file cannot be written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder to write into; made where it does not exist
    folder: PathBuf,
    /// How many
    #[arg(long, value_name = "NUMBER", default_value_t = 5, value_parser = clap::value_parser!(u64).range(1..))]
    count: u64,
    /// Number of the first one
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    first: u64,
    /// Only this process; by default the five take turns
    #[arg(long, value_enum)]
    process: Option<Process>,
    /// With look-alikes outside the five processes as every sixth
    #[arg(long)]
    others: bool,
    #[command(flatten)]
    size: Size,
}

/// How large the drawn photographs are.
#[derive(Clone, Copy, Debug, clap::Args)]
pub(super) struct Size {
    /// Width and height of the photographs; by default about a megapixel, in several shapes
    #[arg(long, value_name = "WIDTHxHEIGHT", value_parser = size_px)]
    size: Option<[usize; 2]>,
    /// Sides so many times those of about a megapixel: 2 gives some 4.6 megapixels
    #[arg(long, value_name = "NUMBER", conflicts_with = "size", value_parser = clap::value_parser!(u8).range(1..=4))]
    sides: Option<u8>,
}

impl Size {
    /// A request for photographs of this size, everything else left to chance.
    pub(super) fn request(self) -> SeriesRequest {
        SeriesRequest {
            size_px: self.size,
            sides_times: self.sides.map(usize::from),
            ..SeriesRequest::default()
        }
    }
}

/// Least and largest side of a drawn photograph, px: below, no window of a measurement fits;
/// above, drawing one takes gigabytes.
const SIDES_PX: std::ops::RangeInclusive<usize> = 200..=6000;

/// A width and height in px, as in `2400x1800`.
fn size_px(text: &str) -> Result<[usize; 2], String> {
    let side = |side: &str| side.trim().parse().ok().filter(|px| SIDES_PX.contains(px));
    text.split_once(['x', '×'])
        .and_then(|(width, height)| Some([side(width)?, side(height)?]))
        .ok_or_else(|| {
            format!(
                "a width and a height of {} to {} pixels are asked for, as in 2400x1800",
                SIDES_PX.start(),
                SIDES_PX.end()
            )
        })
}

/// Processes by the names used in JSON.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum Process {
    StippleEngraving,
    LineEngraving,
    Lithograph,
    TintedLithograph,
    Halftone,
    Other,
}

impl From<Process> for Origin {
    fn from(process: Process) -> Self {
        match process {
            Process::StippleEngraving => Self::StippleEngraving,
            Process::LineEngraving => Self::LineEngraving,
            Process::Lithograph => Self::Lithograph,
            Process::TintedLithograph => Self::TintedLithograph,
            Process::Halftone => Self::Halftone,
            Process::Other => Self::Other,
        }
    }
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let folder = &options.folder;
    if folder.is_file() {
        bail!("{}: is a file; name a folder", folder.display());
    }
    std::fs::create_dir_all(folder)
        .with_context(|| format!("{}: cannot be made; check the path", folder.display()))?;
    let request = SeriesRequest {
        origin: options.process.map(Origin::from),
        with_others: options.others,
        ..options.size.request()
    };
    let Some(end) = options.first.checked_add(options.count) else {
        bail!(
            "--first {}: leaves no room for {}; begin at a smaller number",
            options.first,
            words::counted(options.count as usize, "specimen")
        );
    };
    let progress = output::progress(options.count as usize, false);
    for number in options.first..end {
        // Of the scoring series: no reference distribution was fitted to these.
        let drawn = specimen(SeedFamily::Scoring.seed(number), &request);
        write(folder, &drawn)?;
        progress.inc(1);
    }
    progress.finish_and_clear();
    output::print(&format!(
        "{} in {}, the truth in a .json beside each\n",
        words::counted(options.count as usize, "photograph"),
        folder.display()
    ))?;
    Ok(Outcome::Done)
}

fn write(folder: &Path, drawn: &Specimen) -> anyhow::Result<()> {
    let photo = folder.join(drawn.file_name());
    let what = || format!("{}: cannot be written", photo.display());
    let truth = serde_json::to_string_pretty(&drawn.truth).with_context(what)?;
    output::write_bytes(&photo, &drawn.encode().with_context(what)?)?;
    output::write_bytes(&photo.with_extension("json"), (truth + "\n").as_bytes())
}
