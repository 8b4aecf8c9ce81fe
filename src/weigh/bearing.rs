//! Which photographs of a sheet a reading rests on, and what those can bear.

use super::doubt::SCREENS_SHOW_PX_PER_MM;
use super::evidence::{Evidence, once_each};
use crate::measure::Examined;
use crate::photo::adequacy::Verdict;

/// The photographs on which something was weighed, each file once; where nothing was, all of them. A blank leaf says
/// nothing of whether a screen would show on the photograph beside it.
pub(super) fn rested_on<'a>(photos: &'a [Examined], evidence: &Evidence) -> Vec<&'a Examined> {
    let anything = evidence.anything();
    once_each(photos)
        .zip(evidence.weighed())
        .filter(|(_, weighed)| *weighed || !anything)
        .map(|(photo, _)| photo)
        .collect()
}

/// Whether a photograph is good and fine enough that a screen would show; an unknown scale counts
/// as fine enough.
pub(super) fn may_show_screens(examined: &Examined) -> bool {
    let photo = &examined.photo;
    photo.adequacy.verdict != Verdict::Unusable
        && photo
            .scale
            .as_ref()
            .is_none_or(|scale| scale.value >= SCREENS_SHOW_PX_PER_MM)
}

/// Whether a photograph is too poor for what was measured on it to be relied on.
pub(super) fn too_poor(examined: &Examined) -> bool {
    examined.photo.adequacy.verdict == Verdict::Unusable
}
