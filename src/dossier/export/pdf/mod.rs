//! A dossier as a PDF for the file drawer and the buyer: A4 or Letter, fonts embedded, PDF/A-2b.
//!
//! - [`typeset`]: typefaces, shaping, breaking lines. [`page`](mod@page): geometry of a page and what
//!   is set on it. [`flow`]: text and pictures from page to page. [`draw`]: pages into the file.

mod draw;
mod flow;
mod page;
mod typeset;

pub use page::Paper;

use super::figure::{self, Pair};
use crate::dossier::account::{Account, Block, FindingRow, Shown};
use crate::dossier::contents::Contents;
use flow::Flow;
use jiff::Timestamp;
use page::Colour;
use typeset::Cut;

/// Why no PDF was made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PdfError {
    /// A typeface that is part of the program cannot be read.
    #[error("a typeface of the program cannot be read; install the program again")]
    Typeface,
    /// The file does not keep to its standard.
    #[error("the PDF could not be made ({0})")]
    Standard(String),
}

/// Longest side of a photograph in print, px: 300 px per inch over the width of a column.
const LONGEST_PX: usize = 2_050;

/// The PDF's bytes. The same account, photographs and moment give the same bytes.
///
/// # Errors
/// [`PdfError`].
pub fn file(
    account: &Account,
    contents: &dyn Contents,
    paper: Paper,
    made: Timestamp,
) -> Result<Vec<u8>, PdfError> {
    let faces = typeset::Faces::new().ok_or(PdfError::Typeface)?;
    let mut flow = Flow::new(&faces, paper, &account.foot);
    flow.line(
        Cut::Italic,
        10.0,
        Colour::Soft,
        "Dossier of a printed sheet",
    );
    flow.gap(4.0);
    flow.paragraph(Cut::Semibold, 22.0, Colour::Ink, &account.title);
    flow.paragraph(
        Cut::Regular,
        8.5,
        Colour::Soft,
        &format!("Made {}", account.made),
    );
    for part in &account.parts {
        let mut blocks = part.blocks.iter();
        // A heading stays with the photograph under it, whose height must be known first.
        if let Some(Block::Photograph(shown)) = part.blocks.first() {
            let pair = prepared(shown, contents);
            flow.heading(
                part.heading,
                pair.as_ref().map_or(0.0, |p| flow.height_under_heading(p)),
            );
            photograph(&mut flow, shown, pair);
            blocks.next();
        } else {
            // The head of an entry asks for room of its own.
            let entry = matches!(part.blocks.first(), Some(Block::Entry { .. }));
            flow.heading(part.heading, if entry { flow::ENTRY_HEIGHT } else { 0.0 });
        }
        for block in blocks {
            set(&mut flow, block, contents);
        }
    }
    draw::file(&faces, flow.finish(), account, made)
}

fn set(flow: &mut Flow<'_>, block: &Block, contents: &dyn Contents) {
    match block {
        Block::Lead(text) => {
            flow.paragraph(Cut::Regular, 12.5, Colour::Ink, text);
            flow.gap(3.0);
        }
        Block::Text(text) => {
            flow.paragraph(Cut::Regular, 9.6, Colour::Ink, text);
            flow.gap(3.0);
        }
        Block::Notice(text) => flow.notice(text),
        Block::Small(text) => {
            flow.gap(1.0);
            flow.paragraph(Cut::Regular, 7.6, Colour::Soft, text);
            flow.gap(3.0);
        }
        Block::Rows(rows) => {
            for (label, value) in rows {
                flow.row(label, value);
            }
            flow.gap(5.0);
        }
        Block::Findings(rows) => findings(flow, rows),
        Block::Entry { title, meta } => flow.entry(title, meta),
        Block::Photograph(shown) => photograph(flow, shown, prepared(shown, contents)),
    }
}

fn findings(flow: &mut Flow<'_>, rows: &[FindingRow]) {
    flow.finding_head();
    for row in rows {
        flow.finding(row);
    }
    flow.gap(5.0);
}

fn prepared(shown: &Shown, contents: &dyn Contents) -> Result<Pair, String> {
    figure::examined(contents, shown).and_then(|examined| figure::pair(&examined, LONGEST_PX))
}

fn photograph(flow: &mut Flow<'_>, shown: &Shown, pair: Result<Pair, String>) {
    match pair {
        Ok(pair) => flow.photograph(pair, &shown.caption),
        Err(why) => flow.notice(&format!("{why}.")),
    }
}
