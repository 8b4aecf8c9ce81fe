//! A dossier as plain text for a terminal.

use crate::dossier::account::{Account, Block};
use crate::dossier::plain;
use std::fmt::Write as _;

/// Narrowest and widest text set, characters.
const WIDTHS: std::ops::RangeInclusive<usize> = 40..=100;
/// Column in which values begin, where the text is wide enough for two columns.
const VALUE_COLUMN: usize = 24;
/// Width from which labels and values stand side by side.
const TWO_COLUMNS: usize = 64;

/// The account as text of at most `width` characters a line (40–100).
#[must_use]
pub fn text(account: &Account, width: usize) -> String {
    let width = width.clamp(*WIDTHS.start(), *WIDTHS.end());
    let mut out = String::new();
    paragraph(&mut out, &account.title.to_uppercase(), "", width);
    for part in &account.parts {
        let _ = writeln!(
            out,
            "\n{}\n{}",
            part.heading,
            "─".repeat(part.heading.chars().count())
        );
        for block in &part.blocks {
            set(&mut out, block, width);
        }
    }
    let foot = &account.foot;
    let _ = writeln!(
        out,
        "\nEntries: {}; SHA-256 of the last:\n{}",
        foot.entries, foot.sha256
    );
    out
}

/// Paragraphs broken to a width, without an account around them.
#[must_use]
pub fn wrapped(paragraphs: &[String], width: usize) -> String {
    let width = width.clamp(*WIDTHS.start(), *WIDTHS.end());
    let mut out = String::new();
    for text in paragraphs {
        paragraph(&mut out, text, "", width);
    }
    out
}

fn set(out: &mut String, block: &Block, width: usize) {
    match block {
        Block::Lead(text) | Block::Text(text) => paragraph(out, text, "", width),
        Block::Notice(text) => paragraph(out, &format!("! {text}"), "", width),
        Block::Small(text) => paragraph(out, text, "  ", width),
        Block::Rows(rows) => rows
            .iter()
            .for_each(|(label, value)| row(out, label, value, width)),
        Block::Findings(rows) => {
            for finding in rows {
                let line = format!("{}: {} ({})", finding.title, finding.value, finding.weight);
                paragraph(out, &line, "", width);
            }
        }
        Block::Entry { title, meta } => {
            let _ = writeln!(out, "\n{title}");
            paragraph(out, meta, "  ", width);
        }
        Block::Photograph(shown) => paragraph(out, &shown.caption, "", width),
    }
}

fn row(out: &mut String, label: &str, value: &str, width: usize) {
    let fits = label.chars().count() < VALUE_COLUMN && width >= TWO_COLUMNS;
    if !fits {
        paragraph(out, &format!("{label}:"), "", width);
        paragraph(out, value, "  ", width);
        return;
    }
    let mut lines = String::new();
    let indent = " ".repeat(VALUE_COLUMN);
    paragraph(&mut lines, value, &indent, width);
    let first = format!("{label:<VALUE_COLUMN$}");
    out.push_str(&lines.replacen(&indent, &first, 1));
}

/// Sets a paragraph; line feeds in it begin new lines, words longer than a line are left whole.
fn paragraph(out: &mut String, text: &str, indent: &str, width: usize) {
    for part in text.lines() {
        let mut line = indent.to_owned();
        let mut empty = true;
        for word in part.split(' ').filter(|w| !w.is_empty()) {
            // What would steer a terminal is no text.
            let word: String = word.chars().filter(|c| !plain::is_hidden(*c)).collect();
            if !empty && line.chars().count() + 1 + word.chars().count() > width {
                let _ = writeln!(out, "{line}");
                line = indent.to_owned();
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(&word);
            empty = false;
        }
        let _ = writeln!(out, "{line}");
    }
}
