//! Headings and standing sentences of the page.

/// What the document is.
pub const KIND: &str = "Report on how a print was made";
/// Heading of the summary's numbers.
pub const SUPPORT: &str = "Support for each process";
/// Heading of the photographs.
pub const PHOTOGRAPH: &str = "The photograph";
/// Caption of the whole photograph.
pub const WHOLE: &str = "The whole photograph.";
/// Beside it where the layers can be switched.
pub const SWITCH: &str = " Switch on what was measured.";
/// Caption of the detail.
pub const DETAIL: &str = "A detail at full resolution, from the place with most printed edge.";
/// Heading of the weighing.
pub const WEIGHING: &str = "What was weighed";
/// Under that heading where nothing was.
pub const NOTHING_WEIGHED: &str = "Nothing could be weighed.";
/// Heading of findings that weigh next to nothing.
pub const SLIGHT: &str = "Looked at, without weight here";
/// Heading of what speaks against a process.
#[must_use]
pub fn against(process: &str) -> String {
    format!("What speaks against {process}")
}
/// Heading of what speaks for and against a process where none is named.
#[must_use]
pub fn for_and_against(process: &str) -> String {
    format!("What speaks for and against {process}")
}
/// Under what speaks against a process where something outside the five stands in its way.
pub const WEIGHED_APART: &str = "Whether it is something outside the five is weighed apart from this, and what each finding weighs in that is not shown.";
/// Under that heading where nothing does.
pub const NOTHING_AGAINST: &str = "No measurement spoke against it. That is no proof: see what the photographs cannot show, under Cautions.";
/// Heading of reasons for an undetermined reading.
pub const UNSETTLED: &str = "Why it is not settled";
/// Heading of proposals.
pub const NEXT: &str = "What to photograph next";
/// Begins the first of the proposals where it is told beside the reading.
pub const NEXT_FIRST: &str = "Photograph next: ";
/// Leads to all of them.
pub const NEXT_ALL: &str = "All that would help";
/// Where they stand in the page.
pub const NEXT_PLACE: &str = "next";
/// Under that heading where nothing is proposed.
pub const NOTHING_NEXT: &str =
    "No further photograph is asked for. A second place on the sheet always helps.";
/// Heading of all measurements.
pub const MEASURED: &str = "Everything that was measured";
/// Head of the column of chances.
pub const IF_ONE_OF_THE_FIVE: &str = "Probability, if it is one of the five";
/// Heading of the standing cautions.
pub const CAUTIONS: &str = "Cautions";
/// Heading of the provenance.
pub const PROVENANCE: &str = "Provenance of this report";
/// Heading of the photograph's quality.
pub const ADEQUACY: &str = "What the photograph can bear";
/// Where a group has no figure at all.
pub const NOTHING_MEASURED: &str = "Nothing of this kind was measured.";
/// Photographs that were not read.
pub const NOT_READ: &str = "Not read";
/// Column headings of the weighing.
pub const COLUMNS: [&str; 4] = [
    "Measurement and reason",
    "Measured",
    "Usual on such prints",
    "Weight",
];
/// Column headings of the measurements.
pub const FIGURE_COLUMNS: [&str; 3] = ["Measurement", "Measured (95 % interval)", "Samples"];
/// Explains the strips of reference ranges.
pub const STRIP_AID: &str = "The bars show where the middle 80 % of the reference specimens of each process lie: photographs of sheets that a program drew, whose process is known; the upright line is this sheet.";

/// After a small probability of a reproduction on such a sheet.
pub const COARSE_SCREENS_ONLY: &str = " (coarse screens only)";
/// Below the probabilities of a sheet photographed too coarsely.
pub const COARSE: &str = "A fine screen would not show in these photographs, so a small probability of a reproduction rules out a coarse screen only. Between the other four what was measured counts a fifth of what it does in closer photographs.";

/// The share of reference specimens that fit worse, as a sentence.
#[must_use]
pub fn fit_sentence(fit: f64, process: &str) -> String {
    let share = crate::report::figures::per_cent(fit);
    format!(
        "As a check whether it is any of the five at all: {share} of the drawn reference specimens of the kind \u{201c}{process}\u{201d} fit their own kind as badly as this sheet or worse."
    )
}
