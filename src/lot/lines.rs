//! The lot as JSON lines: one object a sheet, and the JSON Schema that each keeps to.

use super::order::{Ranked, Standing};
use super::record::Record;
use crate::report::json::round;
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;
use serde_json::Value;
use std::io::{self, Write};

/// Name and version of a line's form.
pub const LINE_SCHEMA: &str = "inktell/lot-sheet/1";

/// A sheet of a lot in its place: a line of `sheets.jsonl`.
#[derive(Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Line<'a> {
    /// Name and version of this form.
    #[schemars(extend("const" = LINE_SCHEMA))]
    schema: &'static str,
    /// Place in the order in which to look at the sheets, from 1.
    #[schemars(range(min = 1))]
    rank: usize,
    /// Where it stands.
    standing: Standing,
    /// Whether it is among the sheets to inspect by hand.
    inspect: bool,
    /// Chance of a reproduction, 0 to 1, under the odds given; the odds themselves where nothing was read or the photographs carry nothing.
    #[schemars(range(min = 0, max = 1))]
    chance_of_reproduction: f64,
    /// Expected cost of passing it as a period print, in inspections.
    cost_of_passing: f64,
    /// The same file elsewhere, or what may be the same spot, as sentences.
    twice: &'a [String],
    /// What became of it.
    sheet: &'a Record,
}

/// Writes one JSON object a sheet, a line each, in the order given.
///
/// # Errors
/// What the writer says.
pub fn write(ranked: &[Ranked], out: &mut dyn Write) -> io::Result<()> {
    for (index, ranked) in ranked.iter().enumerate() {
        let line = Line {
            schema: LINE_SCHEMA,
            rank: index + 1,
            standing: ranked.standing,
            inspect: ranked.inspect,
            chance_of_reproduction: ranked.chance,
            cost_of_passing: ranked.cost_of_passing,
            twice: &ranked.twice,
            sheet: &ranked.record,
        };
        let mut value = serde_json::to_value(&line)?;
        leave_out_what_is_the_ledgers(&mut value);
        rounded(&mut value);
        writeln!(out, "{}", serde_json::to_string(&value)?)?;
    }
    Ok(())
}

/// Takes out what the ledger keeps and no table shows; the schema skips the same fields.
fn leave_out_what_is_the_ledgers(line: &mut Value) {
    let Some(sheet) = line.get_mut("sheet").and_then(Value::as_object_mut) else {
        return;
    };
    sheet.remove("pictures");
    let unread = sheet.get_mut("not_read").and_then(Value::as_array_mut);
    for file in unread
        .into_iter()
        .flatten()
        .filter_map(Value::as_object_mut)
    {
        file.remove("try_again");
    }
}

/// Rounds every number that is not whole, as the JSON document does.
fn rounded(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(rounded),
        Value::Object(map) => map.values_mut().for_each(rounded),
        Value::Number(number) if number.is_f64() => {
            let short = number.as_f64().map(round);
            if let Some(short) = short.and_then(serde_json::Number::from_f64) {
                *number = short;
            }
        }
        _ => {}
    }
}

/// The JSON Schema of a line, indented, with a line feed at the end.
///
/// # Errors
/// When the schema cannot be written as JSON, which its type rules out.
pub fn schema_text() -> serde_json::Result<String> {
    // Of what is written: every key is there, null where nothing is known.
    let generator = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator();
    let schema = generator.into_root_schema_for::<Line<'static>>();
    let mut text = serde_json::to_string_pretty(&schema)?;
    text.push('\n');
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    /// Set this variable to write the schema anew after a change that is meant.
    const REBUILD: &str = "INKTELL_REBUILD_FIXTURES";

    #[test]
    fn the_schema_has_not_changed_unnoticed() {
        let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/lot-sheet-1.schema.json");
        let schema = schema_text().unwrap();
        if std::env::var_os(REBUILD).is_some() {
            std::fs::write(&kept, &schema).unwrap();
        }
        assert!(
            schema == std::fs::read_to_string(&kept).unwrap(),
            "the schema differs from {}; if that is meant, run this test once with {REBUILD}=1 and look at the difference",
            kept.display()
        );
    }
}
