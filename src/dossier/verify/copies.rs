//! Copies that stand in for photographs and that the log does not name: what measuring again says of them.

use super::{Finding, Kind, Weight};
use crate::dossier::contents::Contents;
use crate::dossier::left_out::{self, Photograph, WithCopies};
use crate::dossier::line::Log;
use std::io::ErrorKind;

/// Reports every such copy unless the figures of its entry were confirmed: in logs of older versions
/// nothing else ties it to the photograph, and another picture could lie in its place. `measured` says
/// whether photographs were measured again, `findings` what that gave.
pub fn check(contents: &dyn Contents, log: &Log, measured: bool, findings: &mut Vec<Finding>) {
    let Some(left_out) = left_out::read(contents, log) else {
        return;
    };
    let again = WithCopies::over(contents, log);
    for photo in &left_out.photographs {
        let original = &photo.original;
        let original_is_here = !contents
            .read(&original.path)
            .is_err_and(|error| error.kind() == ErrorKind::NotFound);
        if let Some(n) = photo.rests_on_figures_of(log)
            && !original_is_here
            && !again.was_changed(original)
        {
            findings.extend(unconfirmed(photo, n, measured, findings));
        }
    }
}

fn unconfirmed(photo: &Photograph, n: u64, measured: bool, found: &[Finding]) -> Option<Finding> {
    let of_entry = || found.iter().filter(|f| f.entry == Some(n));
    let differs = |f: &Finding| matches!(f.kind, Kind::Figure | Kind::NotMeasured);
    // What measures differently is told as a problem already.
    if of_entry().any(|f| f.weight == Weight::Problem && differs(f)) {
        return None;
    }
    let why = if !measured {
        "nothing was measured again here. Verify with measuring (inktell dossier verify, without --no-measure): where every figure comes out the same, it is the copy"
    } else if of_entry().any(|f| differs(f) || f.kind == Kind::OtherProgram) {
        "the figures of the entry were not confirmed by measuring it again. Another picture may lie in its place: the whole dossier settles it, or the version of the program that measured the entry"
    } else {
        return None;
    };
    let original = &photo.original;
    let text = format!(
        "Nothing shows that what stands in for the {} {} of entry {n} is a copy of it: the log does not name the copy (those of older versions name none), and {why}.",
        original.role.name(),
        original.name
    );
    let finding = Finding::problem(Kind::CopyUnconfirmed, text).entry(n);
    Some(finding.file(&original.path))
}
