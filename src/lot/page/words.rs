//! Sentences of the lot sheet.

use crate::lot::duplicates::MOST_COMPARED;
use crate::lot::order::Standing;
use crate::lot::results::Lot;
use crate::lot::settings::Settings;
use crate::report::figures;
use crate::report::words::{self, counted};

/// What the lot holds.
pub fn totals(lot: &Lot, settings: &Settings) -> String {
    let mut text = format!(
        "{}, {} measured",
        counted(lot.ranked.len(), "sheet"),
        counted(lot.photographs(), "photograph")
    );
    if let Some([number, of]) = settings.part {
        text = format!("Part {number} of {of}: {text}");
    }
    match lot.not_read() {
        0 => text.push('.'),
        n => text.push_str(&format!("; {} could not be read.", counted(n, "file"))),
    }
    text
}

/// Under the count of a standing.
pub fn counted_as(standing: Standing, count: usize) -> &'static str {
    match (standing, count) {
        (Standing::LikelyReproduction, 1) => "likely reproduction",
        (Standing::LikelyReproduction, _) => "likely reproductions",
        (Standing::Doubtful, _) => "to look at closer",
        (Standing::PhotographAgain, _) => "to photograph again",
        (Standing::Period, 1) => "period print",
        (Standing::Period, _) => "period prints",
    }
}

/// On the button that shows one standing.
pub fn shown_as(standing: Standing) -> &'static str {
    match standing {
        Standing::LikelyReproduction => "Reproductions",
        Standing::Doubtful => "Look closer",
        Standing::PhotographAgain => "Photograph again",
        Standing::Period => "Period",
    }
}

/// Heading above the sheets of one standing.
pub fn heading(standing: Standing) -> &'static str {
    match standing {
        Standing::LikelyReproduction => "Likely reproductions",
        Standing::Doubtful => "Look closer",
        Standing::PhotographAgain => "Photograph again",
        Standing::Period => "Period prints",
    }
}

/// How many sheets to inspect, and what remains then.
pub fn inspection(lot: &Lot, settings: &Settings) -> String {
    let plan = &lot.inspection;
    let asked = figures::per_cent(settings.missed_chance);
    let besides = match plan.set_aside {
        0 => String::new(),
        n => format!(", besides the {n} set aside as likely reproductions"),
    };
    if plan.passed == 0 {
        return format!(
            "Inspect all {}{besides}. None can be passed unseen with a chance of at most {asked} that a reproduction is missed.",
            counted(plan.inspect, "sheet")
        );
    }
    let (verb, rest) = match plan.passed {
        1 => ("it is", "The other sheet is passed unseen".to_owned()),
        n => ("any of them is", format!("The other {n} are passed unseen")),
    };
    format!(
        "Inspect {}{besides}. {rest}; the chance that {verb} a screened reproduction is {} (asked for: at most {asked}), and {} are to be expected among them.",
        counted(plan.inspect, "sheet"),
        figures::per_cent(plan.chance_missed),
        figures::number(plan.expected_missed, 2),
    )
}

/// What the number of inspections rests on.
pub fn rests_on(settings: &Settings) -> String {
    format!(
        "This rests on four things. The chances are those of the readings, which were set against drawn specimens, not against museum prints. Before a sheet was looked at, the chance of a reproduction was taken as {}. Sheets are taken as independent: where many come out of one book, they stand and fall together. And only screened reproductions are reckoned with: one without a screen (line block, collotype), or with spots finer than the photograph shows, may not be noticed at all. Sheets that were not read, whose photographs carry nothing, or that resemble none of the specimens are always among those to inspect.",
        figures::per_cent(settings.reproductions_beforehand())
    )
}

/// The rule of the order, in plain words.
pub fn rule_of_order(settings: &Settings) -> String {
    let costs = settings.costs;
    format!(
        "How the sheets are ordered. Looking at a sheet by hand counts 1, passing a reproduction as a period print {missed}, setting a period print aside {set_aside}. A sheet is set aside where it reads as a reproduction and (100 % less its chance) times {set_aside} comes to less than 1. It is passed where it reads as a period process and its chance times {missed} comes to less than 1. What is undetermined or unread is never passed: it asks for a closer look, or for another photograph where the present ones carry nothing. Under each heading the highest chance of a reproduction comes first.",
        missed = figures::plain(costs.missed),
        set_aside = figures::plain(costs.set_aside),
    )
}

/// Where the lot is too large to compare photographs of different sheets.
pub fn not_compared() -> String {
    format!(
        "With more than {MOST_COMPARED} photographs, two of the same spot are looked for on each sheet only, not across sheets. Files that are the same are found across all sheets."
    )
}

/// The process read, large first letter.
pub fn process_read(record: &crate::lot::record::Record) -> String {
    match &record.reading {
        None => "Not read".into(),
        Some(reading) => reading.process.map_or_else(
            || "Undetermined".into(),
            |process| words::capital(process.name()),
        ),
    }
}

/// Photographs and their scale, in a clause.
pub fn photographs(record: &crate::lot::record::Record) -> String {
    let mut text = counted(record.photos.len(), "photograph");
    if !record.not_read.is_empty() {
        text.push_str(&format!(", {} not read", record.not_read.len()));
    }
    let scale = record.photos.iter().find_map(|p| p.px_per_mm);
    if let Some([value, ..]) = scale {
        text.push_str(&format!(", {} px/mm", figures::plain(value)));
    } else if !record.photos.is_empty() {
        text.push_str(", no scale");
    }
    text
}
