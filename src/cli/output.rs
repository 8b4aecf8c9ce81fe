//! Writing results: to files, to standard output, and progress to standard error.

use anyhow::Context;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{ErrorKind, IsTerminal, Write};
use std::path::Path;
use std::time::Duration;

/// Width of a summary where the terminal's is unknown, characters.
const USUAL_WIDTH: usize = 80;

/// Writes text to standard output; a reader that has heard enough (`| head`) is no error.
pub fn print(text: &str) -> anyhow::Result<()> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        result => result.context("standard output cannot be written"),
    }
}

/// Writes a file, or standard output for `-`.
pub fn write(target: &Path, text: &str) -> anyhow::Result<()> {
    if is_standard_output(target) {
        return print(text);
    }
    write_bytes(target, text.as_bytes())
}

/// Writes a file whole or not at all: a full disk leaves what stood there.
pub fn write_bytes(target: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    // A pipe or a device is no file that another could take the place of.
    let plain = std::fs::metadata(target).map_or(true, |there| there.is_file());
    let written = if plain {
        // Through a link to the file that it names: the link itself stays.
        let file = std::fs::canonicalize(target).unwrap_or_else(|_| target.to_owned());
        inktell::whole_file::write(&file, bytes)
    } else {
        std::fs::write(target, bytes)
    };
    written.with_context(|| {
        format!(
            "{}: cannot be written; check that its folder exists and may be written to",
            target.display()
        )
    })
}

/// Whether a path means standard output.
pub fn is_standard_output(target: &Path) -> bool {
    target == Path::new("-")
}

/// Width of the terminal in characters.
pub fn terminal_width() -> usize {
    std::env::var("COLUMNS")
        .ok()
        .and_then(|columns| columns.parse().ok())
        .unwrap_or(USUAL_WIDTH)
}

/// Progress over photographs, drawn on standard error and only where that is a terminal.
pub fn progress(photographs: usize, quiet: bool) -> ProgressBar {
    let bar = ProgressBar::new(photographs as u64);
    if quiet || !std::io::stderr().is_terminal() {
        bar.set_draw_target(ProgressDrawTarget::hidden());
        return bar;
    }
    if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({pos} of {len} done)") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(120));
    bar
}
