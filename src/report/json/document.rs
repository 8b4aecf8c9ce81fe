//! The types of the `--json` document, in the order in which they are written.

use crate::examine::{Examination, Examined};
use crate::measure::{Measurements, film, grain, lattice, layering, lines, marks};
use crate::photo::{Adequacy, Field, Scale};
use crate::report::words;
use crate::weigh::outside::Outside;
use crate::weigh::{Colouring, Finding, Process, Reading};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Name and version of the document's form.
pub const SCHEMA_NAME: &str = "inktell/reading/1";

/// What was measured on the photographs of one sheet, and how it reads.
#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Document<'a> {
    /// Name and version of this form.
    #[schemars(extend("const" = "inktell/reading/1"))]
    schema: &'static str,
    /// The program that wrote it.
    program: Program,
    /// The photographs, in the order given.
    photos: Vec<PhotoEntry<'a>>,
    /// Photographs that were asked for but could not be read.
    not_read: &'a [NotRead],
    /// How the sheet reads.
    reading: ReadingEntry<'a>,
    /// What was weighed, heaviest first.
    findings: Vec<FindingEntry<'a>>,
    /// Index in `photos` of the photograph that `measurements` belong to.
    measurements_of: usize,
    /// What was measured on the most telling photograph; null where no photograph could be read.
    measurements: Option<MeasurementsEntry<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Program {
    /// Its name.
    name: &'static str,
    /// Its version.
    version: &'static str,
}

/// A photograph that could not be read, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NotRead {
    /// File as it was given.
    pub file: String,
    /// What was wrong and what to do next.
    pub why: String,
}

#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PhotoEntry<'a> {
    /// File name without its folder.
    file: &'a str,
    /// SHA-256 of the file's bytes, lower-case hex.
    sha256: &'a str,
    /// Width of the file's picture in pixels, upright.
    width_px: usize,
    /// Height of the file's picture in pixels, upright.
    height_px: usize,
    /// Pixels of the file per millimetre on the sheet with its 95 % interval, or null where unknown.
    px_per_mm: Option<Scale>,
    /// Pixels of the file, across and down, that were averaged to one before measuring, because the
    /// photograph is large and its blur spans as many; 1 = none. All else in px or per px counts averaged ones.
    binned_by: usize,
    /// What the photograph can bear.
    adequacy: &'a Adequacy,
    /// Container format.
    format: &'a str,
    /// Bits per sample in the file.
    bits_per_sample: u8,
    /// What the pixel values were taken to mean.
    colour_space: &'a str,
    /// Label and value of what the file says of how it was taken.
    capture: &'a [(String, String)],
    /// The round loupe field in pixels as measured, or null where the sheet fills the frame.
    round_field_px: Option<RoundField>,
    /// What was measured on this photograph; only where there are several.
    #[serde(skip_serializing_if = "Option::is_none")]
    measurements: Option<MeasurementsEntry<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RoundField {
    /// Centre from the left, px.
    cx: f64,
    /// Centre from the top, px.
    cy: f64,
    /// Radius, px.
    radius: f64,
}

#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReadingEntry<'a> {
    /// The process read, or `undetermined`.
    #[schemars(extend("enum" = ["stipple-engraving", "line-engraving", "lithograph", "tinted-lithograph", "halftone", "undetermined"]))]
    process: &'static str,
    /// Probability of each process under the priors, given that it is one of the five.
    posterior: &'a BTreeMap<Process, f64>,
    /// Probability of each process before the photographs were looked at.
    prior: &'a BTreeMap<Process, f64>,
    /// Whether the priors are equal or were given by the user.
    priors: Priors,
    /// log10 likelihood ratio of each process against the mean of the others.
    log10_lr: &'a BTreeMap<Process, f64>,
    /// The largest of these that the number of reference specimens supports, log10.
    limit_log10_lr: f64,
    /// Strength of the evidence in the words of the ENFSI guideline (2015).
    strength: &'a str,
    /// Share of reference specimens of the best-supported process that fit as badly or worse, 0–1.
    fit: Option<f64>,
    /// Where the colour lies.
    colouring: &'a [Colouring],
    /// Probability that each kind of colouring is present: of its own signs with equal priors, times that of a period
    /// print (of process colour: that of a reproduction); a printed tint has that of a tinted lithograph.
    colouring_posterior: &'a BTreeMap<Colouring, f64>,
    /// Whether a printing screen would show on a photograph on which something was weighed, as far as its scale is known; where
    /// not, a reproduction is never excluded.
    screens_would_show: bool,
    /// The two processes of which it is one, likelier first, where it is undetermined between them;
    /// else empty.
    narrowed_to: &'a [Process],
    /// Where a line engraving or a reproduction is likeliest: chance that it is a relief print instead (woodcut or wood
    /// engraving), with one to four of them beforehand, 0–1; else null.
    relief: Option<f64>,
    /// Where a lithograph, tinted or not, or a reproduction is likeliest: chance that it is another picture in tone
    /// instead (aquatint, mezzotint, collotype, grain photogravure, a plain photograph), with one to four of them
    /// beforehand, 0–1; else null.
    tonal: Option<f64>,
    /// Where a stipple engraving, a lithograph, tinted or not, or a reproduction is likeliest: chance that it is a chromolithograph
    /// instead, with one to four of them beforehand, 0–1; else null.
    chromolithograph: Option<f64>,
    /// Where a line engraving or a reproduction is likeliest: chance that it is woven cloth instead, with one piece to
    /// four prints beforehand, 0–1; else null.
    cloth: Option<f64>,
    /// Why it is undetermined; empty when it is not.
    undetermined_because: &'a [String],
    /// What must be told beside the reading, gravest first.
    cautions: &'a [String],
    /// What to photograph next, most useful first.
    next_photographs: &'a [String],
}

/// Where the priors come from.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Priors {
    /// The same for each process.
    Equal,
    /// Given by the user.
    Given,
}

#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FindingEntry<'a> {
    /// Key of the measurement.
    measurement: &'a str,
    /// Its name in plain words.
    title: &'a str,
    /// The value as weighed.
    value: f64,
    /// Its unit; "1" for a pure number.
    unit: &'a str,
    /// 95 % interval of the value where known.
    interval: Option<[f64; 2]>,
    /// Whether nothing of its kind was seen, be it that none is there or that it cannot be seen; the value, 0,
    /// stands for that.
    nothing_there: bool,
    /// What prints of each process usually show, in words.
    reference: String,
    /// The same as numbers: the middle 80 % of the reference sample.
    reference_ranges: &'a BTreeMap<Process, [f64; 2]>,
    /// Weight per process, log10 of the likelihood over the geometric mean of all five.
    log10_lr: &'a BTreeMap<Process, f64>,
    /// The reason in plain trade language.
    because: &'a str,
}

#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MeasurementsEntry<'a> {
    /// Dots and flicks.
    marks: &'a marks::Marks,
    /// Systems of hatching.
    lines: &'a lines::Lines,
    /// Halftone screens.
    lattice: &'a lattice::Lattice,
    /// Stone grain.
    grain: &'a grain::Grain,
    /// An even printed tint.
    film: &'a film::Film,
    /// Where the colour lies.
    layering: &'a layering::Layering,
}

impl<'a> Document<'a> {
    pub(super) fn new(
        examination: &'a Examination,
        not_read: &'a [NotRead],
        telling: usize,
    ) -> Self {
        let photos = &examination.photos;
        let several = photos.len() > 1;
        Self {
            schema: SCHEMA_NAME,
            program: Program {
                name: env!("CARGO_PKG_NAME"),
                version: env!("CARGO_PKG_VERSION"),
            },
            photos: photos.iter().map(|p| PhotoEntry::new(p, several)).collect(),
            not_read,
            reading: ReadingEntry::new(&examination.reading),
            findings: examination
                .reading
                .findings
                .iter()
                .map(FindingEntry::new)
                .collect(),
            measurements_of: telling,
            measurements: photos
                .get(telling)
                .map(|p| MeasurementsEntry::new(&p.measurements)),
        }
    }
}

impl<'a> PhotoEntry<'a> {
    fn new(examined: &'a Examined, with_measurements: bool) -> Self {
        let photo = &examined.photo;
        Self {
            file: &photo.provenance.file,
            sha256: &photo.provenance.sha256,
            width_px: photo.binning.file_size_px.0,
            height_px: photo.binning.file_size_px.1,
            px_per_mm: photo.file_scale(),
            binned_by: photo.binning.by,
            adequacy: &photo.adequacy,
            format: &photo.provenance.format,
            bits_per_sample: photo.provenance.bits_per_sample,
            colour_space: &photo.provenance.colour_space,
            capture: &photo.provenance.capture,
            round_field_px: match photo.field {
                Field::Frame => None,
                Field::Round { cx, cy, radius } => Some(RoundField { cx, cy, radius }),
            },
            measurements: with_measurements.then(|| MeasurementsEntry::new(&examined.measurements)),
        }
    }
}

impl<'a> ReadingEntry<'a> {
    fn new(reading: &'a Reading) -> Self {
        let outside = |outside| reading.outside.get(&outside).copied();
        Self {
            process: reading
                .process
                .map_or(words::UNDETERMINED_KEY, Process::key),
            posterior: &reading.posterior,
            prior: &reading.prior,
            priors: if words::priors_are_equal(&reading.prior) {
                Priors::Equal
            } else {
                Priors::Given
            },
            log10_lr: &reading.log10_lr,
            limit_log10_lr: reading.limit_log10_lr,
            strength: &reading.strength,
            fit: reading.fit,
            colouring: &reading.colouring,
            colouring_posterior: &reading.colouring_posterior,
            screens_would_show: reading.shows_screens,
            narrowed_to: &reading.narrowed_to,
            relief: outside(Outside::Relief),
            tonal: outside(Outside::Tonal),
            chromolithograph: outside(Outside::Chromolithograph),
            cloth: outside(Outside::Cloth),
            undetermined_because: &reading.undetermined_because,
            cautions: &reading.cautions,
            next_photographs: &reading.next_photographs,
        }
    }
}

impl<'a> FindingEntry<'a> {
    fn new(finding: &'a Finding) -> Self {
        Self {
            measurement: &finding.measurement,
            title: &finding.title,
            value: finding.value,
            nothing_there: finding.nothing_there,
            unit: &finding.unit,
            interval: finding.interval,
            reference: words::reference_sentence(finding),
            reference_ranges: &finding.reference,
            log10_lr: &finding.log10_lr,
            because: &finding.because,
        }
    }
}

impl<'a> MeasurementsEntry<'a> {
    fn new(measurements: &'a Measurements) -> Self {
        Self {
            marks: &measurements.marks,
            lines: &measurements.lines,
            lattice: &measurements.lattice,
            grain: &measurements.grain,
            film: &measurements.film,
            layering: &measurements.layering,
        }
    }
}
