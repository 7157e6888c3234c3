//! What can be typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use jiff::civil::Date;

use crate::round::{Over, Tells};
use crate::units::Days;

/// The whole line.
#[derive(Debug, Parser)]
#[command(
    name = "tickover",
    version,
    about = "Reads the workshop's own sheets and tells each morning who must do what, by when, and why.",
    after_help = "Exit codes: 0 done; 1 done, and something needs a person (a sheet unreadable, a rule not in \
                  force, a letter not delivered); 2 could not run, with the reason."
)]
pub(super) struct Arguments {
    /// Also print one line about the run to the error stream.
    #[arg(long, global = true)]
    pub(super) verbose: bool,
    #[command(subcommand)]
    pub(super) verb: Verb,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Make a yard folder with an invented shop's sheets and run its morning; no account needed.
    Demo {
        /// The folder to make.
        #[arg(default_value = "tickover-demo")]
        folder: PathBuf,
    },
    /// Look at the shop's own exports, propose which column is what, with the evidence, and ask where nothing tells.
    Setup {
        #[command(flatten)]
        place: WhichYard,
        /// Ask nothing: write what is sure into `tickover.toml`, and leave the rest out, listed.
        #[arg(long)]
        accept: bool,
        /// The exports; without any, everything in the yard's folders.
        files: Vec<PathBuf>,
    },
    /// Read, judge, keep, compose and deliver now.
    Morning {
        #[command(flatten)]
        place: WhichYard,
        /// The day to run for, as YYYY-MM-DD; without it, today.
        #[arg(long, value_name = "DAY", value_parser = day)]
        today: Option<Date>,
        /// Print the run as JSON, for other programs.
        #[arg(long)]
        json: bool,
        /// Keep and deliver nothing; print the letter instead.
        #[arg(long)]
        dry_run: bool,
    },
    /// Write everything that the ledger keeps as CSV files.
    Export {
        #[command(flatten)]
        place: WhichYard,
        /// An empty or new folder, or that of an earlier export.
        folder: PathBuf,
    },
    /// Make one round for the long run, which starts this itself.
    #[command(hide = true)]
    DoRound {
        #[command(flatten)]
        place: WhichYard,
        /// How much it is to tell.
        #[arg(long, value_parser = tells)]
        tells: Tells,
        /// The day to run for; without it, today.
        #[arg(long, value_parser = day)]
        today: Option<Date>,
        /// What the letter is to say at its top.
        #[arg(long)]
        trouble: Vec<String>,
        /// End when the standard input does.
        #[arg(long)]
        until_input_ends: bool,
    },
    /// Stay at work: notice what changes, and write each letter at its time.
    Run {
        #[command(flatten)]
        place: WhichYard,
    },
    /// Tell whether the long run is at work, and how it stands.
    Status {
        #[command(flatten)]
        place: WhichYard,
    },
    /// Have the long run started with this PC, by the system's own service manager.
    Autostart {
        #[command(subcommand)]
        verb: AutostartVerb,
    },
    /// Try the mail account.
    Post {
        #[command(flatten)]
        what: PostVerb,
    },
    /// List the rules in force, vet rule files, try one, or print the words that a rule can use.
    Rules {
        #[command(flatten)]
        what: RulesVerb,
    },
}

/// A day as it must be typed; other ways of writing one can be read in two ways.
fn day(text: &str) -> Result<Date, String> {
    let written = text.len() == 10 && text.as_bytes()[4] == b'-' && text.as_bytes()[7] == b'-';
    text.parse()
        .ok()
        .filter(|_| written)
        .ok_or_else(|| "write year, month and day, such as 2026-03-02".to_owned())
}

/// A stretch of days: `90d`.
fn days(text: &str) -> Result<Days, String> {
    let number = text.strip_suffix('d').unwrap_or_default();
    let days = number.parse().ok().filter(|_| number.chars().all(|digit| digit.is_ascii_digit()));
    days.filter(|days| (1..=Over::DAYS_MAX).contains(days))
        .map(Days)
        .ok_or_else(|| format!("write a number of days from 1d to {}d, such as 90d", Over::DAYS_MAX))
}

/// How much a round is to tell, by its word.
fn tells(word: &str) -> Result<Tells, String> {
    Tells::ALL.into_iter().find(|tells| tells.word() == word).ok_or_else(|| "no such word".to_owned())
}

/// Which yard folder.
#[derive(Debug, Args)]
pub(super) struct WhichYard {
    /// The yard folder.
    #[arg(long = "yard", value_name = "DIR", default_value = ".", global = true)]
    pub(super) yard: PathBuf,
}

/// What to do with rules.
#[derive(Debug, Args)]
pub(super) struct RulesVerb {
    #[command(flatten)]
    pub(super) place: WhichYard,
    #[command(subcommand)]
    pub(super) verb: Option<RulesSubverb>,
}

/// The finer verbs of `rules`.
#[derive(Debug, Subcommand)]
pub(super) enum RulesSubverb {
    /// Vet rule files and run their examples; without files, ask those of the yard folder about its machines, too.
    Check {
        /// The rule files.
        files: Vec<PathBuf>,
        /// The day to judge, as YYYY-MM-DD; without it, today.
        #[arg(long, value_name = "DAY", value_parser = day)]
        today: Option<Date>,
    },
    /// Say what a rule file would add, change and clear, without taking it into force.
    Try {
        /// The rule file; its name says which rule it is.
        file: PathBuf,
        /// The day to judge, as YYYY-MM-DD; without it, today.
        #[arg(long, value_name = "DAY", value_parser = day)]
        today: Option<Date>,
        /// Also judge each earlier morning of so many days, such as 90d.
        #[arg(long, value_name = "DAYS", value_parser = days)]
        over: Option<Days>,
    },
    /// Print the words that a rule can use.
    Words,
}

/// The finer verbs of `autostart`.
#[derive(Debug, Subcommand)]
pub(super) enum AutostartVerb {
    /// Keep a yard folder from now on, and whenever the PC starts.
    Install {
        #[command(flatten)]
        place: WhichYard,
    },
    /// Undo what `install` did; the yard folder stays as it is.
    Remove,
    /// Tell which yard folder is kept, and whether it is at work.
    Status,
}

/// What to do with the mail account.
#[derive(Debug, Args)]
pub(super) struct PostVerb {
    #[command(subcommand)]
    pub(super) verb: PostSubverb,
}

/// The finer verbs of `post`.
#[derive(Debug, Subcommand)]
pub(super) enum PostSubverb {
    /// Go as far as a letter would, step by step, and say what is wrong and what to do; nothing is sent.
    Check {
        #[command(flatten)]
        place: WhichYard,
        /// Also send a short mail to this address.
        #[arg(long, value_name = "ADDRESS")]
        send: Option<String>,
    },
}
