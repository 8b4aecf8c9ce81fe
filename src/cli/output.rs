//! Writing results: to files, to standard output, and progress to standard error.

use anyhow::{Context, bail};
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

/// Refuses results that would take the place of what they are made from, or of each other. Each result has the option
/// that names it.
pub fn refuse_overwriting(results: &[(&str, &Path)], sources: &[&Path]) -> anyhow::Result<()> {
    // A file that is not there yet is known by its folder.
    let place = |path: &Path| {
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
        let folder = std::fs::canonicalize(folder.unwrap_or(Path::new("."))).ok();
        std::fs::canonicalize(path)
            .ok()
            .or_else(|| Some(folder?.join(path.file_name()?)))
    };
    let same = |a: &Path, b: &Path| place(a).is_some_and(|a| Some(a) == place(b));
    let files = results
        .iter()
        .filter(|(_, target)| !is_standard_output(target));
    for (index, (option, target)) in files.clone().enumerate() {
        if sources.iter().any(|source| same(source, target)) {
            bail!(
                "{}: is a photograph to be read, and {option} would write over it; name another file",
                target.display()
            );
        }
        if let Some((other, _)) = files.clone().take(index).find(|(_, t)| same(t, target)) {
            bail!(
                "{}: is named by both {other} and {option}; name another file for one of them",
                target.display()
            );
        }
    }
    Ok(())
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
