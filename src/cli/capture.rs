//! How photographs were taken and are to be read: the same options for every command that
//! examines photographs of one sheet.

use super::examine::{above_zero, px_per_mm};
use super::prior::{self, Prior};
use super::scale;
use inktell::dossier::entry::Parameters;
use inktell::photo::ReadOptions;
use inktell::photo::rule::RuleReading;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct Capture {
    /// Scale: pixels per millimetre on the sheet
    #[arg(long, value_name = "NUMBER", value_parser = px_per_mm, allow_negative_numbers = true)]
    pub px_per_mm: Option<f64>,
    /// Take the scale from a photograph of a millimetre rule with the same loupe and setting
    #[arg(long, value_name = "RULE_PHOTO", conflicts_with = "px_per_mm")]
    pub scale_from: Option<PathBuf>,
    /// Distance of the shortest graduations of that rule in millimetres; by default 1 or 0.5, as their pattern has it
    #[arg(long, value_name = "MM", value_parser = above_zero, requires = "scale_from")]
    pub graduation_mm: Option<f64>,
    /// Diameter of the loupe's field in millimetres, used where a round field is found
    #[arg(long, value_name = "MM", value_parser = above_zero)]
    pub loupe_field_mm: Option<f64>,
    /// Prior probabilities, as process=probability,…; processes not named share the rest
    #[arg(long, value_name = "LIST", value_parser = prior::parse)]
    pub prior: Option<Prior>,
    /// Largest picture accepted, in megapixels
    #[arg(long, value_name = "NUMBER", default_value = "200", value_parser = above_zero)]
    pub max_megapixels: f64,
}

impl Capture {
    /// Options for reading a photograph; a rule named for the scale is measured for them.
    pub fn read_options(&self) -> anyhow::Result<ReadOptions> {
        Ok(ReadOptions {
            max_megapixels: self.max_megapixels,
            px_per_mm: self.px_per_mm,
            loupe_field_mm: self.loupe_field_mm,
            measured_scale: self.rule()?.map(|reading| reading.scale),
        })
    }

    /// Measures the rule and says what was taken for granted of it.
    fn rule(&self) -> anyhow::Result<Option<RuleReading>> {
        let options = ReadOptions {
            max_megapixels: self.max_megapixels,
            ..ReadOptions::default()
        };
        let Some(file) = &self.scale_from else {
            return Ok(None);
        };
        let reading = scale::measure(file, self.graduation_mm, &options)?;
        for note in &reading.notes {
            eprintln!("inktell: {}: {note}", file.display());
        }
        Ok(Some(reading))
    }

    /// The same as a dossier records it, so that the examination can be done again.
    pub fn parameters(&self) -> anyhow::Result<Parameters> {
        Ok(Parameters {
            px_per_mm: self.px_per_mm,
            loupe_field_mm: self.loupe_field_mm,
            max_megapixels: self.max_megapixels,
            rule_graduation_mm: self.rule()?.map(|reading| reading.graduation_mm),
            prior: self.prior.clone().map(|prior| prior.0),
        })
    }
}
