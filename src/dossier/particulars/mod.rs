//! The description of the sheet, in the field names of published cataloguing rules.
//!
//! Names marked "Object ID" are those of ICOM's Object ID checklist (type of object, measurements,
//! materials & techniques, inscriptions & markings, distinguishing features, title, subject, date or
//! period, maker). "CDWA" are categories of *Categories for the Description of Works of Art* (names
//! from memory), "DCRMR" is *Descriptive Cataloging of Rare Materials (RDA edition)*.

mod term;

pub use term::{Aat, Term};

use super::plain;
use serde::{Deserialize, Serialize};

/// Height and width, as DCRMR 6.24.35.1 orders them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Size {
    /// Height, mm.
    pub height_mm: f64,
    /// Width, mm.
    pub width_mm: f64,
}

/// Largest side of a sheet taken as meant, mm: no traditional paper passes 2 m.
const LARGEST_SIDE_MM: f64 = 5_000.0;

impl Size {
    /// Reads "352x254", "352 × 254 mm".
    ///
    /// # Errors
    /// When it is no such pair of numbers above 0.
    pub fn parse(text: &str) -> Result<Self, String> {
        let wrong = || {
            format!("\"{text}\" is no size; write height x width in millimetres, such as 352x254")
        };
        let bare = text.trim().trim_end_matches("mm").trim();
        let (height, width) = bare.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
        let side = |text: &str| -> Option<f64> {
            let value: f64 = text.trim().parse().ok()?;
            (value > 0.0 && value <= LARGEST_SIDE_MM).then_some(value)
        };
        Ok(Self {
            height_mm: side(height).ok_or_else(wrong)?,
            width_mm: side(width).ok_or_else(wrong)?,
        })
    }

    /// "352 × 254 mm".
    #[must_use]
    pub fn in_words(&self) -> String {
        format!("{} × {} mm", self.height_mm, self.width_mm)
    }
}

/// What is said of the sheet.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Particulars {
    /// Title as inscribed on the sheet.
    pub title: String,
    /// Number by which the owner knows the sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub identifier: Option<String>,
    /// What it is; "print" unless said otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub type_of_object: Option<String>,
    /// Names of makers as inscribed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub maker: Option<String>,
    /// Date or period as inscribed or supposed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date_or_period: Option<String>,
    /// What is shown.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub subject: Option<String>,
    /// Every inscription and mark, transcribed, with its place.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inscriptions_and_markings: Vec<String>,
    /// Process as described or believed at the beginning.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub process: Option<Term>,
    /// What it is printed on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub support: Option<Term>,
    /// The sheet of paper.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<Size>,
    /// The printed image.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub image: Option<Size>,
    /// The plate mark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plate_mark: Option<Size>,
    /// Wove or laid, chain lines, watermark, colour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paper: Option<String>,
    /// Format that the edition is said to have, such as "royal folio".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub format: Option<String>,
    /// State of the plate or stone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// Points that tell the edition.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edition: Option<String>,
    /// What tells this impression from every other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distinguishing_features: Option<String>,
    /// Condition: trimming, tears, foxing, repairs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// Owners, sales, stamps, from the earliest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub provenance: Option<String>,
}

/// A field of [`Particulars`].
pub struct Field {
    /// Key in the log and on the command line.
    pub key: &'static str,
    /// Label on the page.
    pub label: &'static str,
}

/// All fields, in the order in which they are shown; beside each, where its name comes from.
pub const FIELDS: &[Field] = &[
    field("title", "Title"),                   // Object ID; as inscribed, DCRMR
    field("identifier", "Repository number"),  // CDWA
    field("type_of_object", "Type of object"), // Object ID
    field("maker", "Maker"),                   // Object ID; as inscribed
    field("date_or_period", "Date or period"), // Object ID
    field("subject", "Subject"),               // Object ID
    // Object ID.
    field("inscriptions_and_markings", "Inscriptions & markings"),
    field("process", "Materials & techniques: process"),
    field("support", "Materials & techniques: support"),
    // Object ID; height × width, DCRMR 6.24.
    field("sheet", "Measurements: sheet"),
    field("image", "Measurements: image"),
    field("plate_mark", "Measurements: plate mark"),
    field("paper", "Paper"),                 // DCRMR, note on the item
    field("format", "Bibliographic format"), // DCRMR glossary
    field("state", "State"),                 // CDWA
    field("edition", "Edition"),             // CDWA
    field("distinguishing_features", "Distinguishing features"), // Object ID
    field("condition", "Condition"),         // CDWA, Condition/Examination History
    field("provenance", "Provenance"),       // CDWA, Ownership/Collecting History
];

const fn field(key: &'static str, label: &'static str) -> Field {
    Field { key, label }
}

impl Particulars {
    /// Sets a field from text; an empty text clears it. Inscriptions are separated by " | ".
    ///
    /// # Errors
    /// When there is no such field, or the text does not fit it.
    pub fn set(&mut self, key: &str, text: &str) -> Result<(), String> {
        let key = key.trim().replace('-', "_");
        let text = text.trim();
        plain::lines(&format!("the field \"{key}\""), text)?;
        if key == "title" {
            plain::one_line("the title", text)?;
        }
        let given = (!text.is_empty()).then(|| text.to_owned());
        let size = || given.as_deref().map(Size::parse).transpose();
        match key.as_str() {
            "title" if given.is_none() => {
                return Err("a sheet without a title is called by what it shows, in brackets, such as \"[A heron]\"".into());
            }
            "title" => self.title = text.to_owned(),
            "inscriptions_and_markings" => {
                self.inscriptions_and_markings = text
                    .split(" | ")
                    .map(|part| part.trim().to_owned())
                    .filter(|part| !part.is_empty())
                    .collect();
            }
            "process" => self.process = given.as_deref().map(Term::new),
            "support" => self.support = given.as_deref().map(Term::new),
            "sheet" => self.sheet = size()?,
            "image" => self.image = size()?,
            "plate_mark" => self.plate_mark = size()?,
            other => match self.text_mut(other) {
                Some(place) => *place = given,
                None => {
                    let keys: Vec<_> = FIELDS.iter().map(|f| f.key.replace('_', "-")).collect();
                    return Err(format!(
                        "there is no field \"{key}\"; choose from {}",
                        keys.join(", ")
                    ));
                }
            },
        }
        Ok(())
    }

    fn text_mut(&mut self, key: &str) -> Option<&mut Option<String>> {
        Some(match key {
            "identifier" => &mut self.identifier,
            "type_of_object" => &mut self.type_of_object,
            "maker" => &mut self.maker,
            "date_or_period" => &mut self.date_or_period,
            "subject" => &mut self.subject,
            "paper" => &mut self.paper,
            "format" => &mut self.format,
            "state" => &mut self.state,
            "edition" => &mut self.edition,
            "distinguishing_features" => &mut self.distinguishing_features,
            "condition" => &mut self.condition,
            "provenance" => &mut self.provenance,
            _ => return None,
        })
    }

    /// A field's value in words; `None` where it was not given.
    #[must_use]
    pub fn value(&self, key: &str) -> Option<String> {
        let term = |term: &Option<Term>| term.as_ref().map(Term::in_words);
        let size = |size: &Option<Size>| size.as_ref().map(Size::in_words);
        match key {
            "title" => Some(self.title.clone()),
            "inscriptions_and_markings" => {
                let all = self.inscriptions_and_markings.join("\n");
                (!all.is_empty()).then_some(all)
            }
            "process" => term(&self.process),
            "support" => term(&self.support),
            "sheet" => size(&self.sheet),
            "image" => size(&self.image),
            "plate_mark" => size(&self.plate_mark),
            // Reading through the one list of text fields keeps the two in step.
            other => self.clone().text_mut(other).and_then(|text| text.take()),
        }
    }

    /// Label and value of every field given, in order.
    #[must_use]
    pub fn rows(&self) -> Vec<(&'static str, String)> {
        FIELDS
            .iter()
            .filter_map(|field| Some((field.label, self.value(field.key)?)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_as_people_write_them() {
        let size = Size::parse("352.5 × 254 mm").unwrap();
        assert_eq!((size.height_mm, size.width_mm), (352.5, 254.0));
        assert_eq!(size.in_words(), "352.5 × 254 mm");
        for wrong in [
            "", "352", "352x", "axb", "0x10", "-3x10", "infx1", "NaNx1", "9999x1",
        ] {
            assert!(Size::parse(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn every_field_can_be_set_and_read_back() {
        let mut sheet = Particulars::default();
        for field in FIELDS {
            let text = match field.key {
                "sheet" | "image" | "plate_mark" => "30x20",
                _ => "words",
            };
            sheet.set(field.key, text).unwrap();
        }
        assert_eq!(sheet.rows().len(), FIELDS.len());
        let text = serde_json::to_string(&sheet).unwrap();
        assert_eq!(serde_json::from_str::<Particulars>(&text).unwrap(), sheet);
        sheet.set("plate-mark", "").unwrap();
        assert_eq!(sheet.plate_mark, None);
        assert!(sheet.set("title", " ").is_err());
        assert!(sheet.set("colour", "x").unwrap_err().contains("plate-mark"));
    }

    #[test]
    fn terms_say_when_their_concept_is_broader() {
        assert!(
            Term::new("stipple-engraving")
                .in_words()
                .contains("the broader")
        );
        assert_eq!(
            Term::new("Lithograph").in_words(),
            "lithograph (AAT 300053271, lithography)"
        );
        assert!(
            Term::new("potato print")
                .in_words()
                .contains("no AAT number")
        );
    }
}
