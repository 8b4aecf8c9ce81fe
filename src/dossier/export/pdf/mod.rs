//! A dossier as a PDF for the file drawer and the buyer: A4 or Letter, fonts embedded, PDF/A-2b.
//!
//! - [`typeset`]: typefaces, shaping, breaking lines. [`page`](mod@page): geometry of a page and what
//!   is set on it. [`pieces`]: what stays together, and where a page ends. [`flow`]: text and pictures
//!   as pieces. [`draw`]: pages into the file.

mod draw;
mod flow;
mod page;
mod pieces;
mod typeset;

pub use page::Paper;

use super::figure;
use crate::dossier::account::{Account, Block, Shown};
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
        flow.heading(part.heading);
        for (index, block) in part.blocks.iter().enumerate() {
            let next = part.blocks.get(index + 1);
            if ends_what_stands_above(block, next) {
                flow.keep();
            }
            set(&mut flow, block, contents);
            if leads_to(block, next) {
                flow.keep();
            }
        }
    }
    draw::file(&faces, flow.finish(), account, made)
}

/// Whether a block would say nothing alone at the top of a page: small print, and the last of an entry
/// or part.
fn ends_what_stands_above(block: &Block, next: Option<&Block>) -> bool {
    match block {
        Block::Small(_) => true,
        Block::Entry { .. } | Block::Photograph(_) => false,
        _ => matches!(next, None | Some(Block::Entry { .. })),
    }
}

/// Whether a block is a sentence that leads to a table.
fn leads_to(block: &Block, next: Option<&Block>) -> bool {
    matches!(block, Block::Lead(_) | Block::Text(_))
        && matches!(next, Some(Block::Rows(_) | Block::Findings(_)))
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
            flow.small(text);
            flow.gap(3.0);
        }
        Block::Rows(rows) => flow.rows(rows),
        Block::Findings(rows) => flow.findings(rows),
        Block::Entry { title, meta } => flow.entry(title, meta),
        Block::Photograph(shown) => photograph(flow, shown, contents),
    }
}

fn photograph(flow: &mut Flow<'_>, shown: &Shown, contents: &dyn Contents) {
    let pair =
        figure::examined(contents, shown).and_then(|examined| figure::pair(&examined, LONGEST_PX));
    match pair {
        Ok(pair) => flow.photograph(pair, &shown.caption),
        Err(why) => flow.notice(&format!("{why}.")),
    }
}
