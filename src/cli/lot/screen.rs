//! The main job: list, group, examine what is not finished, write the results.

use super::options::Screen;
use super::progress::progress;
use super::told::{announce, grouped, summary, tell_of_the_ledger, tell_what_is_amiss};
use crate::cli::{Outcome, moment, output};
use anyhow::Context;
use inktell::lot::gate::Gate;
use inktell::lot::ledger::{Entry, Ledger};
use inktell::lot::order::{Costs, MISSED_CHANCE};
use inktell::lot::ordered::Lot;
use inktell::lot::overwriting;
use inktell::lot::plan::{self, Plan, Request};
use inktell::lot::results;
use inktell::lot::resume::{is_finished, same_work, take_back};
use inktell::lot::run;
use inktell::lot::settings::Settings;
use inktell::lot::sheet::Bench;
use inktell::lot::source::{Fetcher, last_part, path_of};
use inktell::lot::task::Task;
use inktell::lot::unnamed::Search;
use inktell::report::words;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

/// Set once the user asks to stop.
static STOP: AtomicBool = AtomicBool::new(false);

pub fn run(options: &Screen) -> anyhow::Result<Outcome> {
    if let Some(folder) = options.folder() {
        overwriting::refuse(folder, &options.inputs()).map_err(anyhow::Error::msg)?;
    }
    let fetcher = Fetcher::default();
    let request = options.request()?;
    let mut plan = if options.scale.find_rules {
        with_rules_found(options, &request, &fetcher)?
    } else {
        plan::plan(&request, &fetcher)?
    };
    if plan.tasks.is_empty() {
        anyhow::bail!(
            "no photographs were found in {}; name a folder that holds JPEG, PNG, TIFF or WebP files",
            options.places().join(", ")
        );
    }
    let extent = Extent::of(&plan);
    if let Some([number, of]) = options.part {
        plan.keep_part(number, of);
    }
    if options.plan {
        return show(&plan);
    }
    if let Some(target) = &options.tasks {
        return write_tasks(options, &plan, target);
    }
    let Some(folder) = options.folder() else {
        anyhow::bail!("name a folder for the results with --out");
    };
    screen(options, &plan, extent, &fetcher, folder)
}

fn with_rules_found(
    options: &Screen,
    request: &Request,
    fetcher: &Fetcher,
) -> anyhow::Result<Plan> {
    let bar = output::progress(0, options.quiet);
    bar.set_message("looking for rules");
    let search = Search {
        fetcher,
        gate: &gate(options),
        threads: threads(options),
        done: &|all| {
            bar.set_length(all as u64);
            bar.inc(1);
        },
    };
    let plan = plan::plan_with_search(request, &search);
    bar.finish_and_clear();
    Ok(plan?)
}

/// How large the whole lot is.
struct Extent {
    tasks: usize,
    /// Names of those that hold nothing but rules.
    rules: Vec<String>,
}

impl Extent {
    fn of(plan: &Plan) -> Self {
        let rules = plan.tasks.iter().filter(|task| task.is_of_rules());
        Self {
            tasks: plan.tasks.len(),
            rules: rules.map(|task| task.sheet.clone()).collect(),
        }
    }
}

/// Works on the planned share of a lot.
fn screen(
    options: &Screen,
    plan: &Plan,
    extent: Extent,
    fetcher: &Fetcher,
    folder: &Path,
) -> anyhow::Result<Outcome> {
    std::fs::create_dir_all(folder)
        .with_context(|| format!("{}: cannot be made; check the path", folder.display()))?;
    let mut ledger = Ledger::open(folder)?;
    take_back(&mut ledger, plan)?;
    let before = Settings::read(folder).map_err(anyhow::Error::msg)?;
    let mut settings = settings(options, extent, before.as_ref());
    same_work(folder, before.as_ref(), &settings, &ledger, plan).map_err(anyhow::Error::msg)?;
    settings
        .write(folder)
        .with_context(|| format!("{}: cannot be written to", folder.display()))?;
    let left: Vec<Task> = plan
        .tasks
        .iter()
        .filter(|task| !is_finished(task, &ledger, folder, !options.no_reports))
        .cloned()
        .collect();
    tell_of_the_ledger(&ledger, plan);
    tell_what_is_amiss(plan);
    if !options.quiet {
        announce(plan, &left);
    }
    examine(options, &left, fetcher, folder, &settings.made, &mut ledger)?;
    if STOP.load(Ordering::SeqCst) {
        let sheets = plan.tasks.iter().filter(|task| !task.is_of_rules());
        let finished =
            sheets.filter(|task| is_finished(task, &ledger, folder, !options.no_reports));
        eprintln!(
            "inktell: stopped; finished and kept: {} of {}. The same command goes on from there.",
            finished.count(),
            words::counted(plan.sheets(), "sheet")
        );
        return Ok(Outcome::Interrupted);
    }
    let sheets: Vec<&str> = plan.tasks.iter().map(|t| t.sheet.as_str()).collect();
    let ledger = ledger.tidy(&sheets)?;
    settings
        .settle_rules(&ledger)
        .and_then(|()| settings.write(folder))
        .with_context(|| format!("{}: cannot be written to", folder.display()))?;
    let lot = results::write(folder, &ledger, &settings)
        .with_context(|| format!("{}: the results cannot be written", folder.display()))?;
    if !options.quiet {
        output::print(&summary(&lot, &settings, folder))?;
    }
    Ok(outcome(&lot))
}

/// Done, or partly where some file was not read or sheets are missing.
pub fn outcome(lot: &Lot) -> Outcome {
    if lot.not_read() == 0 && lot.missing == 0 {
        Outcome::Done
    } else {
        Outcome::Partly
    }
}

/// Settings of this run; the moment is that at which it was first begun.
fn settings(options: &Screen, extent: Extent, before: Option<&Settings>) -> Settings {
    let title = options.title.clone().unwrap_or_else(|| {
        let places = options.places();
        places
            .first()
            .map_or_else(|| "lot".into(), |p| last_part(p))
    });
    let made = match (options.time, before) {
        (None, Some(before)) => before.made.clone(),
        (time, _) => moment::in_words(time),
    };
    let mut settings = Settings::new(
        title,
        made,
        options.odds.prior(),
        Costs::default(),
        MISSED_CHANCE,
    );
    options.errors.apply(&mut settings);
    settings.scale = options.scale.of_the_lot();
    settings.sheets = extent.tasks;
    settings.rules = extent.rules;
    settings.part = options.part;
    settings
}

fn examine(
    options: &Screen,
    left: &[Task],
    fetcher: &Fetcher,
    folder: &Path,
    made: &str,
    ledger: &mut Ledger,
) -> anyhow::Result<()> {
    if left.is_empty() {
        return Ok(());
    }
    // Where no handler can be set, an interruption ends the program at once: just as safe.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::SeqCst) {
            std::process::exit(130);
        }
    });
    let gate = gate(options);
    let bench = Bench::new(
        fetcher,
        &gate,
        (!options.no_reports).then_some(folder),
        made,
    );
    let photographs: usize = left.iter().map(|t| t.photos.len()).sum();
    let bar = progress(photographs as u64, options.quiet);
    let kept = run::run(left, &bench, threads(options), &STOP, |task, record| {
        for unread in &record.not_read {
            bar.suspend(|| eprintln!("inktell: {}", unread.why));
        }
        ledger.append(&Entry {
            fingerprint: task.fingerprint(),
            record,
        })?;
        bar.inc(task.photos.len() as u64);
        Ok(())
    });
    bar.finish_and_clear();
    kept.with_context(|| format!("{}: the results cannot be kept", folder.display()))
}

fn gate(options: &Screen) -> Gate {
    Gate::new(options.memory_mb.unwrap_or_else(half_the_free_memory_mb))
}

fn threads(options: &Screen) -> usize {
    let cores = || std::thread::available_parallelism().map_or(1, usize::from);
    options.threads.map_or_else(cores, |n| n as usize)
}

/// Half of the memory that Linux says is free, megabytes; elsewhere enough for three photographs of
/// 12 megapixels.
fn half_the_free_memory_mb() -> u64 {
    const ELSEWHERE_MB: u64 = 4000;
    let free_kb = std::fs::read_to_string("/proc/meminfo")
        .ok()
        .and_then(|text| {
            let line = text.lines().find(|l| l.starts_with("MemAvailable:"))?;
            line.split_whitespace().nth(1)?.parse::<u64>().ok()
        });
    free_kb.map_or(ELSEWHERE_MB, |kb| kb / 1000 / 2)
}

/// The grouping as CSV, in the form that `--sheets` reads.
fn show(plan: &Plan) -> anyhow::Result<Outcome> {
    eprintln!("{}", grouped(plan));
    for notice in plan.notices.iter().chain(&plan.amiss) {
        eprintln!("{notice}");
    }
    output::print(&String::from_utf8(plan.csv()?)?)?;
    Ok(Outcome::Done)
}

fn write_tasks(options: &Screen, plan: &Plan, target: &Path) -> anyhow::Result<Outcome> {
    let photos = plan.tasks.iter().flat_map(|task| &task.photos);
    let photos: Vec<PathBuf> = photos.map(|photo| path_of(&photo.location)).collect();
    let mut read = options.inputs();
    read.extend(photos.iter().map(PathBuf::as_path));
    if read.iter().any(|input| overwriting::is_same(input, target)) {
        anyhow::bail!(
            "{}: is read for this lot, and --tasks would write over it; name another file",
            target.display()
        );
    }
    let mut text = String::new();
    for task in &plan.tasks {
        text.push_str(&serde_json::to_string(task)?);
        text.push('\n');
    }
    output::write(target, &text)?;
    Ok(Outcome::Done)
}
