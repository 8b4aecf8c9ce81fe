//! What waves show: which keep step, and the screens that they make.

use super::basis::{self, Grid};
use super::peaks::Peak;
use super::phase::Frame;
use super::pieces::{self, Pieces};
use super::pyramid::Level;
use super::sheet::{self, Sheet};
use super::track::{self, Track};
use super::{IN_STEP, MAX_ALARM_LOG10, alarm, folded, peaks, spectrum, stock};

/// Coherence that a wave must reach to be looked at as part of a screen.
const MIN_COHERENCE: f64 = 0.35;
/// Evidence a single wave must bring, nats, to be looked at as part of a screen.
const MIN_WAVE_NATS: f64 = 4.0;
/// Strongest peaks that show the bend of the sheet.
const FREE_WAVES: usize = 12;
/// Waves nearer than this share of their frequency are one; inks 1 % apart in ruling at one
/// angle are kept apart by a field of 100 periods.
const SAME_WAVE_SHARE: f64 = 0.008;

/// What waves show.
pub(super) struct Found {
    /// Waves that keep step.
    pub tracks: Vec<Track>,
    /// The bend of the sheet that they share.
    pub sheet: Sheet,
    /// Screens in step over the whole field.
    pub grids: Vec<Grid>,
    /// Dots in step in pieces of it, looked for where no screen of lines is found over the whole and none of dots is well in step:
    /// the bend of a sheet can follow a few pieces from one to the next, to a wrong ruling.
    pub pieces: Option<Pieces>,
}

impl Found {
    /// Looks for waves over the whole field, then for pieces.
    pub fn on(levels: &[Level], frame: &Frame) -> Self {
        let spectra: Vec<_> = levels.iter().filter_map(spectrum::survey).collect();
        let peaks = peaks::find(&spectra);
        let (tracks, sheet) = waves(levels, frame, &peaks);
        let mut grids = basis::assemble(&tracks);
        grids.retain(|g| {
            alarm_of(&tracks, g) <= MAX_ALARM_LOG10 && !stock::holds(levels, &waves_of(&tracks, g))
        });
        let loose = |g: &Grid| g.waves.len() > 1 && coherence_of(&tracks, g) < IN_STEP;
        let pieces = grids
            .iter()
            .all(loose)
            .then(|| pieces::find(levels, &peaks))
            .flatten();
        Self {
            tracks,
            sheet,
            grids,
            pieces: pieces.filter(|p| p.alarm_log10 <= MAX_ALARM_LOG10),
        }
    }
}

pub(super) fn alarm_of(tracks: &[Track], grid: &Grid) -> f64 {
    alarm::log10_of(&waves_of(tracks, grid))
}

/// Coherence of the wave that keeps step least.
pub(super) fn coherence_of(tracks: &[Track], grid: &Grid) -> f64 {
    let waves = waves_of(tracks, grid);
    waves.iter().map(|w| w.coherence).fold(1.0, f64::min)
}

fn waves_of<'a>(tracks: &'a [Track], grid: &Grid) -> Vec<&'a Track> {
    grid.waves.iter().map(|&w| &tracks[w]).collect()
}

/// Candidate waves read along the common bend of the sheet, those out of step left out.
fn waves(levels: &[Level], frame: &Frame, peaks: &[Peak]) -> (Vec<Track>, Sheet) {
    use rayon::prelude::*;
    let free: Vec<Track> = peaks[..peaks.len().min(FREE_WAVES)]
        .par_iter()
        .filter_map(|peak| track::follow(levels, frame, peak.frequency))
        .collect();
    let sheet = sheet::fit(frame, &free).unwrap_or_else(Sheet::flat);
    let tracks = peaks
        .par_iter()
        .filter_map(|p| track::follow_bent(levels, frame, &sheet.warp, p.frequency))
        .filter(|t| t.coherence >= MIN_COHERENCE && alarm::nats(&[t]) >= MIN_WAVE_NATS)
        .filter(|t| folded::is_on_the_photograph(levels, frame, t))
        .collect();
    (apart(tracks), sheet)
}

/// Waves that ran into one another while being followed count once.
fn apart(tracks: Vec<Track>) -> Vec<Track> {
    let mut kept: Vec<Track> = Vec::new();
    for track in tracks {
        let [a, b] = track.phase.frequency;
        let twin = kept.iter().any(|k| {
            let [c, d] = k.phase.frequency;
            (a - c).hypot(b - d).min((a + c).hypot(b + d)) < SAME_WAVE_SHARE * k.magnitude()
        });
        if !twin {
            kept.push(track);
        }
    }
    kept
}
