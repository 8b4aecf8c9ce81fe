//! A dossier: the evidence on one sheet, kept so that someone who trusts nobody can check it later.
//!
//! A dossier is a folder that can be read without this program: `dossier.jsonl`, a log of one entry
//! a line, to which lines are only ever added; `photographs/`, the originals untouched; `readings/`
//! and `reports/`, what was measured; `head`, the digest of the last line; and `README.txt`, how to
//! check it all with common tools.
//!
//! In flow order:
//!
//! - [`plain`]: text that shows as what it is. [`digest`]: what pins down bytes, and finds the byte that changed.
//! - [`particulars`]: the description of the sheet, in the field names of published rules.
//! - [`entry`]: the entries of the log. [`line`](mod@line): an entry as the exact bytes of a line.
//! - [`keys`]: Ed25519 keys and signatures in OpenSSH's formats.
//! - [`contents`]: reading a dossier from a folder, a ZIP file or memory.
//! - [`privacy`]: the personal data that a dossier holds, and photographs without their location.
//! - [`disk`]: the few operations on files that a dossier needs. [`store`]: adding entries so that
//!   nothing acknowledged is lost.
//! - [`examining`]: kept photographs examined with recorded parameters.
//! - [`work`]: the entries that a user makes: begin, add, observe, conclude, amend, countersign.
//! - [`verify`]: whether everything still holds, in words.
//! - [`papersize`]: a sheet against the traditional sizes of paper.
//! - [`left_out`]: what an export left out, and says so.
//! - [`account`]: the dossier as headings, rows and paragraphs, for every way of showing it.
//! - [`export`]: PDF, HTML, Linked Art and BagIt.

pub mod account;
pub mod contents;
pub mod digest;
pub mod disk;
pub mod entry;
pub mod examining;
pub mod export;
pub mod keys;
pub mod left_out;
pub mod line;
pub mod papersize;
pub mod particulars;
pub mod plain;
pub mod privacy;
pub mod store;
pub mod verify;
pub mod work;

/// Name of the log inside a dossier.
pub const LOG: &str = "dossier.jsonl";
/// Name of the file that holds the digest of the log's last line.
pub const HEAD: &str = "head";
/// Name of the page for readers without this program.
pub const README: &str = "README.txt";
/// Name of the file that is locked while an entry is added.
pub const LOCK: &str = ".lock";
/// Folder of torn ends of the log that were set aside.
pub const SET_ASIDE: &str = "set-aside";
/// Ending of a file that is still being written.
pub const UNFINISHED: &str = ".part";
