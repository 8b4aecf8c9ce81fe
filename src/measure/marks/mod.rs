//! Dots and flicks: how many, how large, what shape, how they are spread.
//!
//! - [`size`]: diameters, cover, counts and their intervals.
//! - [`parting`]: touching marks parted at their waists, for a second count.
//! - [`form`]: whether marks are whole blobs or networks, and whether neighbours point one way.
//! - [`depth`]: how deep pixels lie inside ink and inside gaps.
//! - [`rim`]: whether ink lies thicker at the edge of a mark than inside.
//! - [`breadth`]: how broad ink and gaps are, and whether broad ink lies thicker.
//! - [`solid`]: how even the ink lies well inside marks.
//! - [`spread`]: where marks lie: the marked area, evenness, distance kept, rows.

pub mod breadth;
pub mod depth;
pub mod form;
pub mod parting;
pub mod rim;
pub mod size;
pub mod solid;
pub mod spread;

use super::segment::{Mark, Segments};
use super::systematic::{COVERAGE, DENSITY, DIAMETER};
use crate::ink::Inked;
use crate::measured::{Measured, NotMeasured};
use crate::rank::median;
use schemars::JsonSchema;
use serde::Serialize;

/// Fewest marks for any figure about their sizes or spread.
pub const MIN_MARKS: usize = 30;

/// Quantiles of a distribution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Quantiles {
    /// 10 %.
    pub p10: Measured,
    /// 50 %.
    pub p50: Measured,
    /// 90 %.
    pub p90: Measured,
}

impl Quantiles {
    /// All three missing for one reason.
    #[must_use]
    pub fn missing(reason: &NotMeasured) -> Self {
        let none = || Measured::from(reason.clone());
        Self {
            p10: none(),
            p50: none(),
            p90: none(),
        }
    }

    /// The same with wider intervals: see [`Measured::widened`].
    #[must_use]
    pub fn widened(self, ln_half: f64) -> Self {
        Self {
            p10: self.p10.widened(ln_half),
            p50: self.p50.widened(ln_half),
            p90: self.p90.widened(ln_half),
        }
    }
}

/// Number of marks per class of diameter.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Histogram {
    /// Limits of the classes, µm, ascending, evenly spaced on a logarithmic scale; one more than classes.
    pub limits_um: Vec<f64>,
    /// Marks per class.
    pub marks: Vec<usize>,
}

/// Measurements of marks.
///
/// A *mark* is a connected patch of ink. A *dot* is a mark not much larger than the middle one
/// and not much longer than wide: outlines and solids are marks but not dots.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Marks {
    /// Marks found, those cut by the edge of the field too.
    pub count: usize,
    /// Marks per mm² of usable field: marks that blur alone has joined are parted at their waists,
    /// and a mark cut by the edge of the field counts half. Missing where dots run together.
    pub density_per_mm2: Measured,
    /// Dots per mm² of the area that holds them, bare paper and large solids left out; joined ones
    /// count as one, as they stand in the photograph.
    pub marked_area_density_per_mm2: Measured,
    /// Equivalent diameter (of the circle with the same area), µm.
    pub diameter_um: Quantiles,
    /// Share of the usable field under marks, 0–1.
    pub coverage: Measured,
    /// Share of the marked area under marks, 0–1.
    pub marked_area_coverage: Measured,
    /// Share of the usable field that holds marks, 0–1.
    pub marked_share: Measured,
    /// Clark–Evans index of the dots in the marked area, with Donnelly's edge correction: 1 random,
    /// 0 clustered, 2.149 hexagonal. Source: Clark & Evans, Ecology 35 (1954).
    pub clark_evans: Measured,
    /// Clark–Evans index against the density near each dot, so that tone does not disturb it: 1 random,
    /// below 1 bunched, towards 2 evenly set.
    pub local_evenness: Measured,
    /// Distance that dots keep from each other (pair correlation reaches one half), in mean
    /// spacings; 0 where they do not.
    pub kept_distance_spacings: Measured,
    /// Highest value of the pair correlation: 1 random, above 3 for lattices.
    pub pair_peak: Measured,
    /// How much better a step from a dot to its neighbour predicts the next dot straight on than
    /// to the side: 0 no rows, 1 exact rows.
    pub row_order: Measured,
    /// Length over width of the dots, ≥ 1.
    pub elongation: Quantiles,
    /// 4π·area/perimeter² of the dots: 1 round, less for long or ragged ones.
    pub circularity: Quantiles,
    /// Share of the dots that are flicks (longer than 1.6 times their width), 0–1.
    pub flick_share: Measured,
    /// Standard deviation of the natural logarithm of the dots' diameter; 0 = all alike.
    pub size_spread: Measured,
    /// The same between a dot and its nearest neighbour: the part of the spread that is not tone.
    pub neighbour_size_spread: Measured,
    /// Parted count over plain count: 1 = no touching marks.
    pub touching_ratio: Measured,
    /// ln of the density just inside the edge of marks over that of their middle: above 0 where ink was
    /// squeezed to the rim, as relief blocks do; below 0 where it stands highest in the middle, as
    /// from an engraved line.
    pub ink_rim: Measured,
    /// Breadth of ink along its middle lines, µm: of lines, dots and solids alike, each by its length.
    pub ink_breadth_um: Quantiles,
    /// Breadth of the gaps between, along theirs, µm.
    pub gap_breadth_um: Quantiles,
    /// Power of its breadth with which the ink's density rises: 0 = one thickness of ink everywhere, as a
    /// block prints it; above 0 where broad lines are cut deeper and hold more ink.
    pub ink_deepening: Measured,
    /// Standard deviation of density from place to place well inside marks, as a share of its mean.
    pub ink_unevenness: Measured,
    /// Solidity (area over that of the convex hull) of the wider dots below which half of their ink lies;
    /// 1 = without hollows.
    pub solidity: Measured,
    /// The same for the least solid quarter of their ink.
    pub solidity_low: Measured,
    /// How far long dots point the way of their neighbours: 1 = all one way, 0 = any way.
    pub alignment: Measured,
    /// Share of the ink that lies in dots, not in outlines and solids, 0–1.
    pub ink_in_dots: Measured,
    /// Middle diameter of the dots over the blur of edges (standard deviation): under 3, sizes are blurred.
    pub diameter_over_blur: Measured,
    /// Classes of diameter, for a figure; empty without a scale.
    pub diameter_histogram: Histogram,
}

/// Measures the marks.
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments) -> Marks {
    let whole: Vec<&Mark> = segments.marks.iter().filter(|m| !m.cut).collect();
    let dots = dots_of(&segments.marks);
    let counts = size::Counts::of(segments);
    let spread = spread::measure(inked, segments, &dots);
    let parted = parting::parted_count(segments);
    let shape = |of: fn(&Mark) -> f64| size::quantiles(&dots, of, "1", |_| 0.0);
    let diameter_over_blur = size::over_blur(&dots, segments.blur);
    let resolved = diameter_over_blur.value();
    let [solidity, solidity_low] = form::solidity(segments, &dots);
    let ink_in_dots = size::ink_in_dots(&dots, &counts);
    let ((depth, ink), gaps) = rayon::join(
        || {
            let depth = depth::of_ink(segments);
            let ink = breadth::middles(inked, segments, &depth);
            (depth, ink)
        },
        || breadth::middles(inked, segments, &depth::of_gaps(inked, segments)),
    );
    let density = |marks: f64, area_px: f64| {
        size::density(&counts, marks, area_px, inked).widened(DENSITY.at(resolved))
    };
    let coverage = |ink_px: f64, area_px: f64| {
        size::coverage(&counts, ink_px, area_px)
            .widened(COVERAGE.at(resolved))
            .at_most(1.0)
    };
    let none = segments
        .marks
        .is_empty()
        .then(|| Measured::missing(NO_MARK));
    Marks {
        count: segments.marks.len(),
        density_per_mm2: none
            .clone()
            .or_else(|| uncountable(&diameter_over_blur, &ink_in_dots))
            .unwrap_or_else(|| density(counts.marks * parted, counts.usable_px)),
        marked_area_density_per_mm2: density(spread.dots_inside as f64, spread.area_px),
        diameter_um: size::diameters_um(&whole, inked).widened(DIAMETER.at(resolved)),
        coverage: none.unwrap_or_else(|| coverage(counts.area_px, counts.usable_px)),
        marked_area_coverage: coverage(spread.ink_px, spread.area_px),
        marked_share: spread.marked_share(segments.usable_px),
        clark_evans: spread.clark_evans,
        local_evenness: spread.local_evenness,
        kept_distance_spacings: spread.kept_distance,
        pair_peak: spread.pair_peak,
        row_order: spread.row_order,
        elongation: shape(Mark::elongation),
        circularity: shape(Mark::circularity),
        flick_share: size::flick_share(&dots),
        size_spread: size::size_spread(&dots),
        neighbour_size_spread: size::neighbour_size_spread(&dots),
        touching_ratio: size::ratio(parted, counts.whole),
        ink_rim: rim::measure(inked, segments, &depth),
        ink_breadth_um: breadth::quantiles_um(inked, &ink),
        gap_breadth_um: breadth::quantiles_um(inked, &gaps),
        ink_deepening: breadth::deepening(segments, &ink),
        ink_unevenness: solid::unevenness(inked, segments, &depth),
        solidity,
        solidity_low,
        alignment: form::alignment(segments, &dots),
        ink_in_dots,
        diameter_over_blur,
        diameter_histogram: size::histogram_um(&whole, inked.px_per_mm()),
    }
}

/// Middle diameter of the dots, in blurs, under which so many of them run together that their
/// count says little: under it the count of stippled specimens was a half to a tenth of the truth.
const MIN_BLURS_TO_COUNT: f64 = 8.0;
/// Share of the ink that must lie in dots: of stippled specimens with less, 17 of 60 were
/// miscounted by more than half; with this much, the middle error was 4 %, and one in twenty was over 28 %.
const MIN_IN_DOTS_TO_COUNT: f64 = 0.5;

/// Why there is no count and no cover where no mark is found: pale print is not bare paper.
const NO_MARK: &str = "no mark stands out from the ground; pale ones and very fine ones are not seen: photograph closer, or a darker passage";

/// Why the marks cannot be counted; none where they can. Where either figure is missing nothing says that they can.
fn uncountable(blurs: &Measured, in_dots: &Measured) -> Option<Measured> {
    match (blurs.value(), in_dots.value()) {
        (None, _) => Some(blurs.clone()),
        (_, None) => Some(in_dots.clone()),
        (Some(blurs), _) if blurs < MIN_BLURS_TO_COUNT => Some(Measured::missing(format!(
            "the dots run together: they are {blurs:.1} blurs across and {MIN_BLURS_TO_COUNT:.0} are needed to count them; photograph closer or sharper"
        ))),
        (_, Some(share)) if share < MIN_IN_DOTS_TO_COUNT => Some(Measured::missing(format!(
            "only {:.0} % of the ink lies in dots, the rest in lines and joined dots that cannot be counted, and {:.0} % are needed; photograph a lighter passage",
            100.0 * share,
            100.0 * MIN_IN_DOTS_TO_COUNT
        ))),
        _ => None,
    }
}

/// Times the middle area that a dot may have: stipple and grain vary over some 3 : 1 in diameter
/// to either side; lines and solids lie far beyond.
const MAX_DOT_AREAS: f64 = 16.0;
/// Longest dot, in widths: a stipple graver's flick; beyond it is a line.
const MAX_DOT_LENGTH: f64 = 6.0;

/// Marks that are dots: whole, not much larger than the middle mark, not lines.
fn dots_of(marks: &[Mark]) -> Vec<&Mark> {
    let Some(middle) = median(marks.iter().map(|m| m.area_px)) else {
        return Vec::new();
    };
    marks
        .iter()
        .filter(|m| {
            !m.cut && m.area_px <= MAX_DOT_AREAS * middle && m.elongation() <= MAX_DOT_LENGTH
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_counted_only_where_both_figures_say_that_they_can_be() {
        let told = |value: f64| Measured::with_interval(value, value, value, "1", 40);
        let untold = || Measured::missing("too few");
        assert!(uncountable(&told(9.0), &told(0.6)).is_none());
        for (blurs, in_dots) in [
            (untold(), told(0.6)),
            (told(9.0), untold()),
            (told(7.0), told(0.6)),
            (told(9.0), told(0.4)),
        ] {
            assert!(uncountable(&blurs, &in_dots).is_some());
        }
    }
}
