//! Arguments of a lot, and what they ask for.

use crate::cli::examine::{above_zero, px_per_mm};
use crate::cli::{moment, prior, scale};
use anyhow::{anyhow, bail};
use clap::ValueEnum;
use inktell::lot::grouping::{Grouping, SheetList};
use inktell::lot::order::Costs;
use inktell::lot::pattern::Pattern;
use inktell::lot::plan::Request;
use inktell::lot::scales::StatedScales;
use inktell::lot::settings::{LotScale, Settings};
use inktell::lot::source::{last_part, location_of};
use inktell::photo::ReadOptions;
use inktell::weigh::Process;
use inktell::weigh::read::equal_priors;
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub struct Screen {
    /// Folders (searched with all folders in them), lists of files (one a line, # begins a remark; several count as one), photographs, or addresses such as s3://bucket/folder
    #[arg(required = true, value_name = "SOURCE")]
    pub sources: Vec<OsString>,
    /// Folder for the results; made where it does not exist
    #[arg(long, value_name = "FOLDER", required_unless_present_any = ["plan", "tasks"])]
    pub out: Option<PathBuf>,
    /// How photographs are put together to sheets
    #[arg(long, value_enum, default_value = "usual", conflicts_with_all = ["name_pattern", "sheets"])]
    pub group: By,
    /// The sheet's name inside the file's: {sheet}, * any letters, ? one letter, # digits
    #[arg(long, value_name = "PATTERN", value_parser = Pattern::parse, conflicts_with = "sheets")]
    pub name_pattern: Option<Pattern>,
    /// CSV file with the columns sheet,file and, if wanted, note,px_per_mm
    #[arg(long, value_name = "FILE")]
    pub sheets: Option<PathBuf>,
    #[command(flatten)]
    pub scale: ScaleOptions,
    #[command(flatten)]
    pub odds: Odds,
    #[command(flatten)]
    pub errors: Errors,
    /// Work on one share of the sheets only, such as 3/20; merge the parts afterwards
    #[arg(long, value_name = "N/OF", value_parser = part)]
    pub part: Option<[u64; 2]>,
    /// Sheets examined at once; by default one a core
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u64).range(1..=1024))]
    pub threads: Option<u64>,
    /// Memory for photographs in work, megabytes, by default half of what is free; a photograph that needs more is measured alone
    #[arg(long, value_name = "NUMBER")]
    pub memory_mb: Option<u64>,
    /// Largest picture accepted, in megapixels
    #[arg(long, value_name = "NUMBER", default_value = "200", value_parser = above_zero)]
    pub max_megapixels: f64,
    /// No full report a sheet (each takes about a megabyte a photograph)
    #[arg(long)]
    pub no_reports: bool,
    /// Name of the lot; by default that of the first source
    #[arg(long, value_name = "NAME")]
    pub title: Option<String>,
    /// Moment printed in pages instead of now, such as 2026-01-02T10:00:00Z
    #[arg(long, value_name = "MOMENT", value_parser = moment::parse)]
    pub time: Option<jiff::Timestamp>,
    /// Only show which photographs go to which sheet, as CSV on standard output
    #[arg(long, conflicts_with = "tasks")]
    pub plan: bool,
    /// Only write the work as JSON lines, a sheet a line, to a file or to "-"; see `lot work`
    #[arg(long, value_name = "FILE")]
    pub tasks: Option<PathBuf>,
    /// No summary and no progress; errors, and what is not as it was asked for, are still reported
    #[arg(long, short)]
    pub quiet: bool,
}

#[derive(Debug, clap::Args)]
pub struct ScaleOptions {
    /// Scale of photographs of which nothing better is known: pixels per millimetre
    #[arg(long, value_name = "NUMBER", value_parser = px_per_mm, allow_negative_numbers = true)]
    px_per_mm: Option<f64>,
    /// CSV file with the columns place,px_per_mm; a place is a file, a sheet or a folder
    #[arg(long, value_name = "FILE")]
    scales: Option<PathBuf>,
    /// Take the scale from a photograph of a millimetre rule (rules named so in the folders are found by themselves)
    #[arg(long, value_name = "RULE_PHOTO")]
    scale_from: Option<PathBuf>,
    /// Diameter of the loupe's field in millimetres, used where a round field is found
    #[arg(long, value_name = "MM", value_parser = above_zero)]
    loupe_field_mm: Option<f64>,
    /// Also look for rules among photographs whose names do not say so, where no scale is known; each is looked at once more
    #[arg(long)]
    pub find_rules: bool,
}

/// Odds beforehand, with which every sheet is read.
#[derive(Debug, clap::Args)]
pub struct Odds {
    /// Prior probabilities, as process=probability,…; processes not named share the rest
    #[arg(long, value_name = "LIST", value_parser = prior::parse, conflicts_with = "reproductions")]
    prior: Option<prior::Prior>,
    /// Share of reproductions expected beforehand, 0 to 1 [default: 0.2, one in five, as for each other process]
    #[arg(long, value_name = "SHARE", value_parser = inside_zero_to_one)]
    reproductions: Option<f64>,
}

/// What errors cost, and which chance of one may remain: they decide the order of the sheets.
#[derive(Debug, clap::Args)]
pub struct Errors {
    /// What passing a reproduction as a period print costs, in inspections by hand; more than the default
    /// sorts more strictly, less changes nothing, as the readings have limits of their own [default: 100]
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    cost_missed: Option<f64>,
    /// What setting a period print aside as a reproduction costs, in inspections by hand; likewise [default: 20]
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    cost_set_aside: Option<f64>,
    /// Chance of a missed reproduction that may remain among sheets not inspected by hand, 0 to 1 [default: 0.05]
    #[arg(long, value_name = "CHANCE", value_parser = inside_zero_to_one)]
    missed_chance: Option<f64>,
}

/// Ways of grouping.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum By {
    /// Sub-folders are sheets; at the top, and in boxes of sheets (more than 12 photographs, or names that form groups), plate-7a and plate-7b are one
    Usual,
    /// Each folder is a sheet
    Folder,
    /// Each file is a sheet
    File,
}

impl Odds {
    pub fn prior(&self) -> BTreeMap<Process, f64> {
        match (&self.prior, self.reproductions) {
            (Some(prior), _) => prior.0.clone(),
            (None, Some(share)) => with_reproductions(share),
            (None, None) => equal_priors(),
        }
    }
}

impl Errors {
    /// Puts what was given in the place of what stands in the settings.
    pub fn apply(&self, settings: &mut Settings) {
        let Costs { missed, set_aside } = settings.costs;
        settings.costs = Costs {
            missed: self.cost_missed.unwrap_or(missed),
            set_aside: self.cost_set_aside.unwrap_or(set_aside),
        };
        settings.missed_chance = self.missed_chance.unwrap_or(settings.missed_chance);
    }
}

/// Reproductions with their share, the other processes alike.
fn with_reproductions(share: f64) -> BTreeMap<Process, f64> {
    let other = (1.0 - share) / (Process::ALL.len() - 1) as f64;
    Process::ALL
        .into_iter()
        .map(|p| (p, if p == Process::Halftone { share } else { other }))
        .collect()
}

impl Screen {
    /// The sources as the library takes them.
    pub fn places(&self) -> Vec<String> {
        let paths = self.sources.iter().map(Path::new);
        paths.map(location_of).collect()
    }

    /// Folder for the results; none where no results are asked for.
    pub fn folder(&self) -> Option<&Path> {
        let only_shown = self.plan || self.tasks.is_some();
        self.out.as_deref().filter(|_| !only_shown)
    }

    /// Files that the lot is made from, as they were given.
    pub fn inputs(&self) -> Vec<&Path> {
        let own = [&self.sheets, &self.scale.scales, &self.scale.scale_from];
        let own = own.into_iter().flatten().map(PathBuf::as_path);
        self.sources.iter().map(Path::new).chain(own).collect()
    }

    /// What is asked for, with the user's files read.
    pub fn request(&self) -> anyhow::Result<Request> {
        Ok(Request {
            places: self.places(),
            grouping: self.grouping()?,
            scales: self.scale.stated()?,
            px_per_mm: self.scale.px_per_mm,
            rule: self.scale.rule(self.max_megapixels)?,
            loupe_field_mm: self.scale.loupe_field_mm,
            max_megapixels: self.max_megapixels,
            prior: self.odds.prior(),
        })
    }

    fn grouping(&self) -> anyhow::Result<Grouping> {
        if let Some(file) = &self.sheets {
            let list = SheetList::read(file).map_err(anyhow::Error::msg)?;
            return Ok(Grouping::Sheets(list));
        }
        Ok(match (&self.name_pattern, self.group) {
            (Some(pattern), _) => Grouping::Name(pattern.clone()),
            (None, By::Usual) => Grouping::Usual,
            (None, By::Folder) => Grouping::Folder,
            (None, By::File) => Grouping::File,
        })
    }
}

impl ScaleOptions {
    /// What is kept of it with the results.
    pub fn of_the_lot(&self) -> LotScale {
        let rule = self.scale_from.as_deref().map(location_of);
        LotScale {
            px_per_mm: self.px_per_mm,
            rule: rule.map(|rule| last_part(&rule)),
            loupe_field_mm: self.loupe_field_mm,
        }
    }

    fn stated(&self) -> anyhow::Result<StatedScales> {
        match &self.scales {
            Some(file) => StatedScales::read(file).map_err(anyhow::Error::msg),
            None => Ok(StatedScales::default()),
        }
    }

    /// The rule for the whole lot, looked at before anything else is done, in the way in which each sheet
    /// will look at it.
    fn rule(&self, max_megapixels: f64) -> anyhow::Result<Option<String>> {
        let Some(file) = &self.scale_from else {
            return Ok(None);
        };
        if self.px_per_mm.is_some() {
            bail!("give either --px-per-mm or --scale-from for the lot, not both");
        }
        let read = ReadOptions {
            max_megapixels,
            ..ReadOptions::default()
        };
        scale::measure(file, None, &read).map_err(|why| {
            anyhow!(
                "--scale-from: {why:#}. Nothing was measured, for the scale of the lot was to come from the millimetre graduations in this photograph; name another, state the scale with --px-per-mm, or leave --scale-from away to measure without a scale"
            )
        })?;
        Ok(Some(location_of(file)))
    }
}

fn part(text: &str) -> Result<[u64; 2], String> {
    let numbers = text
        .split_once('/')
        .and_then(|(n, of)| Some([n.trim().parse().ok()?, of.trim().parse().ok()?]));
    match numbers {
        Some([n, of]) if (1..=of).contains(&n) => Ok([n, of]),
        _ => Err("must be a number of a part and of how many, such as 3/20".into()),
    }
}

fn inside_zero_to_one(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value > 0.0 && value < 1.0 => Ok(value),
        _ => Err("must lie between 0 and 1 (neither 0 nor 1)".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_help_names_how_many_photographs_make_a_box() {
        let usual = By::Usual.to_possible_value().unwrap();
        let help = usual.get_help().unwrap().to_string();
        let figure = inktell::lot::grouping::MOST_OF_ONE_SHEET;
        assert!(help.contains(&format!("more than {figure} photographs")));
    }

    #[test]
    fn parts_and_chances_are_checked() {
        assert_eq!(part("3/20"), Ok([3, 20]));
        for text in ["0/3", "4/3", "3", "a/b", "-1/2"] {
            assert!(part(text).is_err(), "{text}");
        }
        assert!(inside_zero_to_one("0").is_err() && inside_zero_to_one("NaN").is_err());
        let prior = with_reproductions(0.4);
        assert!((prior.values().sum::<f64>() - 1.0).abs() < 1e-12);
        assert_eq!(prior[&Process::Halftone], 0.4);
    }
}
