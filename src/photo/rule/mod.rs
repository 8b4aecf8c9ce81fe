//! Pixels per millimetre from the graduations of a rule or graticule.
//!
//! Graduations are ticks that are straight, parallel, equally spaced, and stand on one
//! baseline with lengths in a hierarchy (every second, fifth or tenth longer). Engraved
//! hatching, halftone screens and text lack one or more of these, and are refused.

mod across;
mod bands;
mod between;
mod ends;
mod glance;
mod hierarchy;
mod period;
mod straighten;
mod ticks;

use super::scale::{Scale, ScaleSource};
use super::{Field, Photo};
use crate::measured::{Measured, Z95};
use crate::plane::{Mask, Plane};
pub use glance::shows_rule;
use hierarchy::Hierarchy;
use straighten::{Strip, View};
use ticks::Row;

/// Long side of the working picture in which graduations are searched, px.
const WORKING_SIDE_PX: usize = 1200;
/// Fewest graduations for a period good to a tenth of a percent.
const FEWEST: usize = 10;
/// Half-width of the 95 % interval that a rule's own making leaves, as a share: ordinary
/// rules are good to some hundredths of a millimetre in twenty (from memory).
const RULE_TOLERANCE: f64 = 0.001;
/// Slant left alone, px per row: a third of a degree moves the end of a tick by a fraction of
/// its width.
const UPRIGHT: f64 = 0.005;
/// Largest slant put right; a direction found is good to a few degrees.
const LARGEST_SLANT: f64 = 0.12;
/// Spacings closer than this are of the same strokes, share of either.
const SAME_SPACING: f64 = 0.05;

/// What was read from a rule.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleReading {
    /// Pixels per millimetre along the rule, mean over the graduations seen.
    pub scale: Scale,
    /// Distance of the shortest graduations on the rule, mm, as stated or as the pattern has it.
    pub graduation_mm: f64,
    /// Spacing of the shortest graduations, px.
    pub spacing_px: Measured,
    /// Graduations used.
    pub graduations: usize,
    /// Direction of the rule, degrees counter-clockwise from +x, [0, 180).
    pub direction_deg: f64,
    /// Change of the spacing from one end of what is seen to the other, share of the mean;
    /// more than a percent means that the camera was tilted.
    pub spacing_drift: f64,
    /// Every so many graduations a longer one stands (2, 4, 5 or 10; all that were seen).
    pub longer_every: Vec<usize>,
    /// Plain sentences on what to watch.
    pub notes: Vec<String>,
}

/// Why no scale was read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RuleError {
    /// The stated graduation is no length.
    #[error(
        "a graduation of {0} mm is no length; state the distance of the shortest graduations, for instance 1 or 0.5"
    )]
    NoLength(f64),
    /// No ticks at equal distances stand in the picture.
    #[error(
        "no row of equally spaced graduations was found; photograph the rule flat, in focus, with at least {FEWEST} graduations in the field"
    )]
    NoGraduations,
    /// Equally spaced strokes, but not those of a rule.
    #[error(
        "the strokes found are equally spaced but are no rule ({0}); photograph a rule whose graduations are whole in the field"
    )]
    NotARule(String),
    /// The pattern of lengths contradicts the stated graduation.
    #[error("{0}")]
    Contradiction(String),
}

/// Measures the scale from the graduations of a rule, whose shortest graduations stand
/// `graduation_mm` apart.
///
/// # Errors
/// [`RuleError`] when no rule is found, what is found is no rule, or the pattern of long and
/// short graduations contradicts the stated distance.
pub fn measure_rule(photo: &Photo, graduation_mm: f64) -> Result<RuleReading, RuleError> {
    if !(graduation_mm.is_finite() && graduation_mm > 0.0) {
        return Err(RuleError::NoLength(graduation_mm));
    }
    let light = photo_light(photo);
    let field = inside(&photo.field, light.dim());
    search(&View::of(&light, &field, WORKING_SIDE_PX), graduation_mm)
}

/// Distances of the shortest graduations of ordinary rules, mm: the pattern of long and short ones
/// tells which.
const COMMON_MM: [f64; 2] = [1.0, 0.5];

/// [`measure_rule`] where nobody stated the distance of the graduations: that of an ordinary rule, in
/// whole or half millimetres.
///
/// # Errors
/// As [`measure_rule`].
pub fn measure_common_rule(photo: &Photo) -> Result<RuleReading, RuleError> {
    common(|graduation_mm| measure_rule(photo, graduation_mm))
}

/// Tries the common distances; another is worth a try only where the pattern contradicts the first.
fn common(read: impl Fn(f64) -> Result<RuleReading, RuleError>) -> Result<RuleReading, RuleError> {
    let [first, second] = COMMON_MM;
    match read(first) {
        Err(RuleError::Contradiction(_)) => read(second),
        other => other,
    }
}

fn search(view: &View, graduation_mm: f64) -> Result<RuleReading, RuleError> {
    let mut refusal = RuleError::NoGraduations;
    // Dots that were known as such may pass for graduations when looked at a little aslant.
    let mut of_dots: Vec<f64> = Vec::new();
    for direction in straighten::directions(view) {
        let strip = Strip::along(view, direction);
        for spacing in period::candidates(&strip) {
            // Bright graduations on a dark rule are the same picture turned inside out.
            for sign in [1.0, -1.0] {
                let attempt = Attempt {
                    view,
                    direction,
                    spacing,
                    sign,
                };
                match attempt.reading(&strip, graduation_mm) {
                    Ok(_) if of_dots.iter().any(|dots| is_same(spacing, *dots)) => {}
                    Ok(reading) => return Ok(reading),
                    Err(RuleError::NoGraduations) => {}
                    Err(RuleError::NotARule(why)) if why == across::OF_DOTS => {
                        of_dots.push(spacing);
                        refusal = RuleError::NotARule(why);
                    }
                    // The shortest spacing comes first: a longer one must not hide what it says.
                    Err(contradiction @ RuleError::Contradiction(_)) => return Err(contradiction),
                    // What the shortest strokes are refused for is the reason; longer spacings and the gaps
                    // between the strokes fail as a consequence.
                    Err(other) if refusal == RuleError::NoGraduations => refusal = other,
                    Err(_) => {}
                }
            }
        }
    }
    Err(refusal)
}

/// Whether two spacings are of the same strokes.
fn is_same(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < SAME_SPACING
}

/// One direction, spacing and sign under trial.
struct Attempt<'a> {
    view: &'a View,
    direction: f64,
    spacing: f64,
    sign: f32,
}

impl Attempt<'_> {
    /// Traces the row, turning the strip upright first where the strokes lean in it: slanted
    /// strokes have no common baseline along its rows.
    fn reading(&self, strip: &Strip, graduation_mm: f64) -> Result<RuleReading, RuleError> {
        let slant = ticks::slant(strip, self.spacing, self.sign).ok_or(RuleError::NoGraduations)?;
        if slant.abs() > LARGEST_SLANT {
            return Err(RuleError::NoGraduations);
        }
        let (direction, row) = if slant.abs() > UPRIGHT {
            let direction = self.direction - slant.atan();
            let turned = Strip::along(self.view, direction);
            (direction, Row::trace(&turned, self.spacing, self.sign)?)
        } else {
            (self.direction, Row::trace(strip, self.spacing, self.sign)?)
        };
        let hierarchy = Hierarchy::of(&row.lengths).map_err(|pattern| {
            // The long graduations, a tenth at least, may be those that run out of the field.
            let cut = row.count - row.lengths.len();
            if cut * 10 >= row.count {
                RuleError::NotARule(ticks::OUTSIDE.into())
            } else {
                pattern
            }
        })?;
        hierarchy.agrees_with(graduation_mm)?;
        Ok(conclude(
            &row,
            &hierarchy,
            self.view,
            direction,
            graduation_mm,
        ))
    }
}

fn conclude(
    row: &Row,
    hierarchy: &Hierarchy,
    view: &View,
    direction: f64,
    graduation_mm: f64,
) -> RuleReading {
    let reduction = view.reduction as f64;
    let spacing_px = row.spacing * reduction;
    let se_px = row.spacing_se * reduction;
    let value = spacing_px / graduation_mm;
    // The mean holds along the rule; elsewhere the scale may lie anywhere in its drift.
    let drift = row.drift.abs() / 12.0_f64.sqrt();
    let share = (Z95 * se_px / spacing_px)
        .hypot(Z95 * drift)
        .hypot(RULE_TOLERANCE);
    let mut notes = vec![format!(
        "{} graduations of {graduation_mm} mm were measured, {spacing_px:.2} px apart.",
        row.count
    )];
    if row.drift.abs() > 0.01 {
        notes.push(format!(
            "The graduations widen by {:.1} % along the rule; hold the camera square to the sheet for a better scale.",
            100.0 * row.drift.abs()
        ));
    }
    RuleReading {
        scale: Scale {
            value,
            lo: value * (1.0 - share),
            hi: value * (1.0 + share),
            source: ScaleSource::Rule,
        },
        graduation_mm,
        spacing_px: Measured::with_standard_error(spacing_px, se_px, "px", row.count),
        graduations: row.count,
        direction_deg: (row.shear.atan() - direction)
            .to_degrees()
            .rem_euclid(180.0),
        spacing_drift: row.drift,
        longer_every: hierarchy.longer_every.clone(),
        notes,
    }
}

/// Mean of the three channels.
fn photo_light(photo: &Photo) -> Plane {
    let [red, green, blue] = &photo.linear;
    ndarray::Zip::from(red)
        .and(green)
        .and(blue)
        .par_map_collect(|r, g, b| (r + g + b) / 3.0)
}

/// The round field inside its rim; glare is not left out, since white steel glares harmlessly.
fn inside(field: &Field, (height, width): (usize, usize)) -> Mask {
    let inside = |y: usize, x: usize| match *field {
        Field::Frame => true,
        Field::Round { cx, cy, radius } => (x as f64 - cx).hypot(y as f64 - cy) < 0.97 * radius,
    };
    Mask::from_shape_fn((height, width), |(y, x)| inside(y, x))
}

#[cfg(test)]
mod tests;
