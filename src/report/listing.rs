//! Measurements flattened to rows, so that a report shows every figure and every missing one,
//! whatever the stages upstream measure.

use super::words;
use crate::examine::Examined;
use crate::measure::Measurements;
use crate::measured::Measured;
use serde::Serialize;
use serde_json::Value;

/// Members of a list that get rows: as many as there are process inks. Stages put the fullest
/// first, and the JSON document has all.
const MOST_MEMBERS: usize = 4;

/// What a row holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// A figure, or why there is none.
    Measured(Measured),
    /// A kind, a note or a count, as text.
    Stated(String),
}

/// One row of a group.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Path of the value, e.g. `marks.diameter_um.p50` or `lattice.inks.0.ruling_lpi`.
    pub key: String,
    /// Name in plain words.
    pub title: String,
    /// What it means, in a clause; empty where the title says it.
    pub gloss: &'static str,
    /// The figure.
    pub entry: Entry,
}

/// One kind of measurement with its rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Key, e.g. `marks`.
    pub key: &'static str,
    /// Its rows: single figures first, then the members of lists one after the other.
    pub rows: Vec<Row>,
}

/// All measurements of one photograph as rows.
#[must_use]
pub fn groups(measurements: &Measurements) -> Vec<Group> {
    vec![
        group("marks", &measurements.marks),
        group("lines", &measurements.lines),
        group("lattice", &measurements.lattice),
        group("grain", &measurements.grain),
        group("film", &measurements.film),
        group("layering", &measurements.layering),
    ]
}

/// What was measured of the photograph's own quality, as rows.
#[must_use]
pub fn adequacy(examined: &Examined) -> Group {
    let mut group = group("adequacy", &examined.photo.adequacy);
    // The verdict and the notes stand beside the photograph.
    group
        .rows
        .retain(|row| matches!(row.entry, Entry::Measured(_)));
    group
}

/// Index of the photograph with the most figures measured; the first of equals, 0 for none.
#[must_use]
pub fn most_telling(photos: &[Examined]) -> usize {
    let counts = photos.iter().map(figures_measured);
    let mut best = (0, 0);
    for (index, count) in counts.enumerate() {
        if count > best.1 {
            best = (index, count);
        }
    }
    best.0
}

/// How many figures were measured on a photograph.
#[must_use]
pub fn figures_measured(examined: &Examined) -> usize {
    figures_in(&groups(&examined.measurements))
}

fn figures_in(groups: &[Group]) -> usize {
    groups
        .iter()
        .flat_map(|group| &group.rows)
        .filter(|row| matches!(row.entry, Entry::Measured(Measured::Figure(_))))
        .count()
}

fn group(key: &'static str, measurements: &impl Serialize) -> Group {
    let mut rows = Vec::new();
    if let Ok(value) = serde_json::to_value(measurements) {
        collect(key, &value, &mut rows);
    }
    // Stable, so that members of one list stay in their order.
    rows.sort_by(|a, b| {
        let place = |row: &Row| words::titles::rank_of(&row.key);
        (numbered_part(&a.key), place(a)).cmp(&(numbered_part(&b.key), place(b)))
    });
    Group { key, rows }
}

/// The list and the number of the member that a row belongs to; rows of no list come first.
fn numbered_part(path: &str) -> Option<(&str, usize)> {
    let parts: Vec<_> = path.split('.').collect();
    parts
        .windows(2)
        .find_map(|pair| Some((pair[0], pair[1].parse().ok()?)))
}

/// A row that tells of the members of a list that have no rows of their own.
fn further(path: &str, members: usize) -> Option<Row> {
    let further = members.checked_sub(MOST_MEMBERS).filter(|n| *n > 0)?;
    let mut row = row(path, Entry::Stated(words::further(further)));
    row.title = words::titles::list_title(path);
    Some(row)
}

fn collect(path: &str, value: &Value, rows: &mut Vec<Row>) {
    match value {
        Value::Object(map) if is_measured(value) => {
            if let Ok(measured) = serde_json::from_value(Value::Object(map.clone())) {
                rows.push(row(path, Entry::Measured(measured)));
            }
        }
        Value::Object(map) => {
            for (key, inner) in map {
                collect(&format!("{path}.{key}"), inner, rows);
            }
        }
        Value::Array(items) if path.ends_with(".angles_between") => {
            rows.extend(items.iter().filter_map(|pair| angle_between(path, pair)));
        }
        // Spectra and outlines are drawn; as rows they would drown the rest.
        Value::Array(items) if items.iter().all(holds_only_numbers) => {
            if let Some(text) = colour_as_text(path, items) {
                rows.push(row(path, Entry::Stated(text)));
            }
        }
        Value::Array(items) if items.iter().any(Value::is_object) => {
            for (index, inner) in items.iter().take(MOST_MEMBERS).enumerate() {
                collect(&format!("{path}.{index}"), inner, rows);
            }
            rows.extend(further(path, items.len()));
        }
        Value::Array(items) => {
            if let Some(text) = items_as_text(items) {
                rows.push(row(path, Entry::Stated(text)));
            }
        }
        Value::Null => {}
        // Which two systems cross is said by the drawing.
        Value::Number(_) if path.ends_with(".first") || path.ends_with(".second") => {}
        Value::String(text) if text.is_empty() || path.ends_with(".unit") => {}
        Value::String(text) => rows.push(row(path, Entry::Stated(words::stated(text)))),
        Value::Bool(yes) => rows.push(row(
            path,
            Entry::Stated(if *yes { "yes" } else { "no" }.into()),
        )),
        Value::Number(number) => {
            let text = number.as_f64().map_or(number.to_string(), |v| {
                if path.ends_with(".false_alarm") {
                    super::figures::one_in(v.log10())
                } else if path.ends_with(".false_alarm_log10") {
                    super::figures::one_in(v)
                } else if number.is_f64() {
                    super::figures::plain(v)
                } else {
                    super::figures::number(v, 0)
                }
            });
            rows.push(row(path, Entry::Stated(text)));
        }
    }
}

/// The angle between the screens of two inks, named by them.
fn angle_between(path: &str, pair: &Value) -> Option<Row> {
    let ink = |i: usize| Some(words::ink_name(pair.get("inks")?.get(i)?.as_str()?));
    let angle = serde_json::from_value(pair.get("angle_deg")?.clone()).ok()?;
    let mut row = row(path, Entry::Measured(angle));
    row.title = format!("Angle between {} and {}", ink(0)?, ink(1)?);
    Some(row)
}

/// A bare number, or a bundle of bare numbers.
fn holds_only_numbers(value: &Value) -> bool {
    match value {
        Value::Number(_) => true,
        Value::Object(map) => map.values().all(holds_only_numbers),
        Value::Array(items) => items.iter().all(holds_only_numbers),
        _ => false,
    }
}

/// CIELAB coordinates as a catalogue gives them; other bare numbers are no row.
fn colour_as_text(path: &str, items: &[Value]) -> Option<String> {
    let last = path.rsplit('.').next()?;
    let [l, a, b] = items else { return None };
    if !last.split('_').any(|part| part == "lab") {
        return None;
    }
    let text = |v: &Value| v.as_f64().map(|v| super::figures::number(v, 1));
    Some(format!("L* {}, a* {}, b* {}", text(l)?, text(a)?, text(b)?))
}

/// Short lists of words are worth a row.
fn items_as_text(items: &[Value]) -> Option<String> {
    let words: Vec<_> = items.iter().filter_map(Value::as_str).collect();
    (!words.is_empty() && words.len() == items.len()).then(|| {
        words
            .iter()
            .map(|w| words::stated(w))
            .collect::<Vec<_>>()
            .join("; ")
    })
}

fn is_measured(value: &Value) -> bool {
    let has = |key: &str| value.get(key).is_some();
    has("not_measured") || (has("value") && has("lo") && has("hi") && has("unit"))
}

fn row(path: &str, entry: Entry) -> Row {
    let (title, gloss) = words::title_of(path);
    Row {
        key: path.to_owned(),
        title,
        gloss,
        entry,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Nested {
        ruling: Measured,
        systems: Vec<Inner>,
        outline: Vec<f64>,
        note: String,
        found: Option<f64>,
    }

    #[derive(Serialize)]
    struct Inner {
        spacing_per_mm: Measured,
    }

    #[test]
    fn every_figure_and_every_missing_one_becomes_a_row() {
        let nested = Nested {
            ruling: Measured::missing("no scale"),
            systems: vec![Inner {
                spacing_per_mm: Measured::with_interval(5.0, 4.9, 5.1, "mm⁻¹", 12),
            }],
            outline: vec![1.0, 2.0],
            note: String::new(),
            found: None,
        };
        let group = group("lines", &nested);
        let keys: Vec<_> = group.rows.iter().map(|r| r.key.as_str()).collect();
        assert_eq!(keys, ["lines.ruling", "lines.systems.0.spacing_per_mm"]);
        assert_eq!(
            group.rows[0].entry,
            Entry::Measured(Measured::missing("no scale"))
        );
        assert_eq!(figures_in(&[group]), 1);
    }
}
