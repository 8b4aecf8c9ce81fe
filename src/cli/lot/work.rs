//! `inktell lot work`: tasks as JSON lines in, finished sheets as JSON lines out.

use crate::cli::{Outcome, moment, output};
use anyhow::{Context, ensure};
use inktell::lot::gate::Gate;
use inktell::lot::ledger::Entry;
use inktell::lot::sheet::{self, Bench};
use inktell::lot::source::Fetcher;
use inktell::lot::task::{TASK_SCHEMA, Task};
use rayon::ThreadPoolBuilder;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Reads tasks as `inktell lot … --tasks FILE` writes them, a line each, from
standard input, and writes a line for each finished sheet to standard output, in
the same order. The same task on the same files gives the same line, so work may
be done twice or anywhere. Collect the lines and put them together:

  inktell lot photos --tasks tasks.jsonl
  inktell lot work < tasks.jsonl > finished.jsonl
  inktell lot merge finished.jsonl --out estate

Exit codes:
  0  done, every photograph was read
  2  trouble: a line is no task, or some file could not be read (the rest is done)";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Write full reports below this folder; give the same to `lot merge --out`, or merge from there
    #[arg(long, value_name = "FOLDER")]
    reports_in: Option<PathBuf>,
    /// Moment printed in reports instead of now, such as 2026-01-02T10:00:00Z
    #[arg(long, value_name = "MOMENT", value_parser = moment::parse)]
    time: Option<jiff::Timestamp>,
    /// Threads that measure one photograph
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=1024))]
    threads: u64,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let fetcher = Fetcher::default();
    // One photograph is in work at a time, whatever its size.
    let gate = Gate::new(0);
    let made = moment::in_words(options.time);
    let bench = Bench::new(&fetcher, &gate, options.reports_in.as_deref(), &made);
    let pool = ThreadPoolBuilder::new()
        .num_threads(options.threads as usize)
        .build()
        .context("no thread can be started; ask for fewer with --threads")?;
    let mut outcome = Outcome::Done;
    for (index, line) in std::io::stdin().lines().enumerate() {
        let line = line.context("standard input cannot be read")?;
        if line.trim().is_empty() {
            continue;
        }
        let task = task(&line).with_context(|| format!("line {} is no task", index + 1))?;
        let record = pool
            .install(|| sheet::examine(&task, &bench))
            .with_context(|| format!("sheet {}: its report cannot be written", task.sheet))?;
        for unread in &record.not_read {
            eprintln!("inktell: {}", unread.why);
            outcome = Outcome::Partly;
        }
        let entry = Entry {
            fingerprint: task.fingerprint(),
            record,
        };
        output::print(&(serde_json::to_string(&entry)? + "\n"))?;
    }
    Ok(outcome)
}

fn task(line: &str) -> anyhow::Result<Task> {
    let task: Task = serde_json::from_str(line)?;
    ensure!(
        task.schema == TASK_SCHEMA,
        "it is of the form {}, not {TASK_SCHEMA}; write the tasks with this version",
        task.schema
    );
    Ok(task)
}
