//! Sentences of the lot sheet.

use super::{MOST_SHEETS, shown};
use crate::lot::duplicates::MOST_COMPARED;
use crate::lot::names::CSV_NAME;
use crate::lot::order::Standing;
use crate::lot::ordered::Lot;
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
    if let Some(sentence) = not_complete(lot, settings) {
        text.push_str(&format!(" {sentence}"));
    }
    text
}

/// That sheets of the lot are missing; nothing where none is.
#[must_use]
pub fn not_complete(lot: &Lot, settings: &Settings) -> Option<String> {
    let verb = match lot.missing {
        0 => return None,
        1 => "is",
        _ => "are",
    };
    Some(format!(
        "This lot is not complete: {} of its {} {verb} missing.",
        lot.missing,
        counted(settings.sheets_without_rules(), "sheet")
    ))
}

/// What is told of every sheet, and what to do.
#[must_use]
pub fn of_all(lot: &Lot) -> Option<String> {
    let caution = lot.of_all.as_ref()?;
    Some(format!(
        "This holds for every sheet of the lot: {caution} A photograph of a rule called rule.jpg beside the others gives the scale."
    ))
}

/// That the page does not show all sheets, or not all with pictures; nothing where it does.
pub fn not_all_shown(lot: &Lot) -> Option<String> {
    let (all, shown) = (lot.ranked.len(), shown(lot).count());
    if all <= MOST_SHEETS {
        return None;
    }
    let which = if shown == all {
        format!(
            "The first {MOST_SHEETS} of {all} sheets are listed with pictures and the others without"
        )
    } else if shown == MOST_SHEETS {
        format!(
            "Only {shown} of {all} sheets are listed here, the first in the order in which to look at them"
        )
    } else {
        format!(
            "Only {shown} of {all} sheets are listed here: the first {MOST_SHEETS} in the order in which to look at them and, without pictures, the others to inspect by hand"
        )
    };
    Some(format!(
        "{which}, for a page of more opens slowly. All of them are in {CSV_NAME} beside this page, which any spreadsheet opens."
    ))
}

/// Under the count of a standing.
pub fn counted_as(standing: Standing, count: usize) -> &'static str {
    match (standing, count) {
        (Standing::LikelyReproduction, 1) => "likely reproduction",
        (Standing::LikelyReproduction, _) => "likely reproductions",
        (Standing::Doubtful, _) => "to look at closer",
        (Standing::PhotographAgain, _) => "to photograph again",
        (Standing::Period, 1) => "reads as a period process",
        (Standing::Period, _) => "read as a period process",
    }
}

/// On the button that shows one standing.
pub fn shown_as(standing: Standing) -> &'static str {
    match standing {
        Standing::LikelyReproduction => "Reproductions",
        Standing::Doubtful => "Look closer",
        Standing::PhotographAgain => "Photograph again",
        Standing::Period => "Read as period",
    }
}

/// Heading above the sheets of one standing.
pub fn heading(standing: Standing) -> &'static str {
    match standing {
        Standing::LikelyReproduction => "Likely reproductions",
        Standing::Doubtful => "Look closer",
        Standing::PhotographAgain => "Photograph again",
        Standing::Period => "Read as a period process",
    }
}

/// Smaller chances that a reproduction is missed are not told apart.
const LEAST_CHANCE_SAID: f64 = 0.01;

/// How many sheets to inspect, and what remains then.
pub fn inspection(lot: &Lot, settings: &Settings) -> String {
    let plan = &lot.inspection;
    let asked = figures::per_cent(settings.missed_chance);
    let besides = match plan.set_aside {
        0 => String::new(),
        1 => ", besides the one set aside as a likely reproduction".into(),
        n => format!(", besides the {n} set aside as likely reproductions"),
    };
    if plan.passed + plan.inspect == 0 {
        return match plan.set_aside {
            0 => "There are no sheets here.".into(),
            _ => {
                "All sheets are set aside as likely reproductions; none is left to inspect.".into()
            }
        };
    }
    if plan.passed == 0 {
        return format!(
            "Inspect every sheet by hand{besides}. With a chance of at most {asked} that a reproduction is missed, none can go without."
        );
    }
    let inspect = match plan.inspect {
        0 => "No sheet needs inspection by hand".to_owned(),
        n => format!("Inspect {} by hand", counted(n, "sheet")),
    };
    let (rest, that) = match plan.passed {
        1 => (
            "The other one can go without".to_owned(),
            "it is a reproduction".to_owned(),
        ),
        n => (
            format!("The other {n} can go without"),
            format!("at least one of the {n} is a reproduction"),
        ),
    };
    // Chances set against drawn specimens are not known to tenths of a per cent.
    let chance = if plan.chance_missed < LEAST_CHANCE_SAID {
        format!("under {}", figures::per_cent(LEAST_CHANCE_SAID))
    } else {
        figures::per_cent(plan.chance_missed)
    };
    format!(
        "{inspect}{besides}. {rest}, at your own risk: the chance that {that} comes to {chance} (you allow {asked}), as far as drawn specimens can tell. That does not make them period prints.",
    )
}

/// What it does not mean that a sheet can go without inspection.
pub const WITHOUT_INSPECTION: &str = "A sheet that can go without inspection is not thereby a period print, an original or genuine: no more is said than that a screened reproduction is improbable. How it was printed may be open, so sheets under \u{201c}Look closer\u{201d} can be among them.";

/// What the number of inspections rests on.
pub fn rests_on(settings: &Settings) -> String {
    format!(
        "This rests on four things. The chances are those of the readings, which were set against drawn specimens, not against museum prints. Before a sheet was looked at, the chance of a reproduction was taken as {}. Sheets are taken as independent: where many come out of one book, they stand and fall together. And only screened reproductions are reckoned with: one without a screen (line block, collotype), or with spots finer than the photograph shows, may not be noticed at all. Sheets that were not read or only in part, whose photographs carry nothing or contradict each other, that resemble none of the specimens, or that show a printing screen without being read as a reproduction are always among those to inspect by hand.",
        figures::per_cent(settings.reproductions_beforehand())
    )
}

/// The rule of the order, in plain words.
pub fn rule_of_order(settings: &Settings) -> String {
    let costs = settings.costs;
    format!(
        "Looking at a sheet by hand counts 1, taking a reproduction for a period print {missed}, setting a period print aside as a reproduction {set_aside}. A sheet stands under \u{201c}{}\u{201d} where it reads as one and (100 % less its chance of being one) times {set_aside} comes to less than 1. It stands under \u{201c}{}\u{201d} where it does so and its chance of being a reproduction times {missed} comes to less than 1; that is a reading of photographs and no finding about its age. What is undetermined or unread stands under neither: it asks for a closer look, or for another photograph where the present ones carry nothing. Nor does a sheet stand under \u{201c}{}\u{201d} of which a file could not be read. These figures can make the sorting stricter than the readings are by themselves and never laxer: a sheet whose reading names no process stays to be looked at. Under each heading the sheets to inspect by hand come first, and the highest chance of a reproduction before others.",
        heading(Standing::LikelyReproduction),
        heading(Standing::Period),
        heading(Standing::Period),
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
