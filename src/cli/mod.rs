//! Shell verbs and reports: the same deeds as the screens, for hands that
//! type commands and for programs.
//!
//! Lives here: arguments, one file a verb, reports as text and JSON, exit
//! codes. Must not live here: SQL, sums, judgement of a ferment.

mod again;
mod args;
mod args_cellar;
mod bottle;
mod cellar;
mod changes;
mod day;
mod docs;
mod exits;
mod export;
mod figure;
mod find;
mod guard;
mod handling;
mod import;
mod keep;
mod keg;
mod keys;
mod listen;
mod manual;
mod pantry;
mod paths;
mod planning;
mod read;
mod register;
mod report;
mod round;
mod routines;
mod season;
mod sheet;
mod shelf;
mod shell;
mod start;
mod steps;
mod tail;
mod today;
mod trouble;
mod values;

pub use exits::{EXITS, Exit};
pub use paths::Paths;
pub use trouble::Trouble;

use args::{Line, Verb};
use clap::Parser;
use guard::Guard;
use shell::Shell;
use std::ffi::OsString;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

/// Runs one command line and gives the exit code. Only this reads the clock.
pub fn run(words: impl IntoIterator<Item = OsString>) -> ExitCode {
    let line = match Line::try_parse_from(words.into_iter().map(minus)) {
        Ok(line) => line,
        Err(why) => {
            // Help and version go to stdout with code 0, mistakes to stderr with 2.
            let code = why.exit_code();
            return match tell(&why) {
                Ok(()) => ExitCode::from(u8::try_from(code).unwrap_or(Exit::Usage.code())),
                Err(_) => Exit::Broken.into(),
            };
        }
    };
    let stdout = io::stdout().lock();
    let mut out: io::BufWriter<Box<dyn Write>> = io::BufWriter::new(if stdout.is_terminal() {
        Box::new(Guard::new(stdout))
    } else {
        Box::new(stdout)
    });
    let (ended, saved) = obey(line, &mut out);
    let ended = ended.and_then(|exit| {
        out.flush()?;
        Ok(exit)
    });
    let ended = ended.map_err(|trouble| match saved {
        Some(saved) if trouble.output => Trouble::new(
            Exit::Unanswered,
            format!("{}; it was saved: {saved}", trouble.said),
        ),
        _ => trouble,
    });
    match ended {
        Ok(exit) => exit.into(),
        Err(trouble) => {
            if !trouble.said.is_empty() {
                // Where stderr is gone too, the exit code still tells.
                let _ = writeln!(io::stderr(), "skep: {}", report::safe_lines(&trouble.said));
            }
            trouble.exit.into()
        }
    }
}

/// Help as the library prints it; a mistake repeats what was typed.
fn tell(why: &clap::Error) -> io::Result<()> {
    if why.use_stderr() {
        let said = why.render().to_string();
        writeln!(io::stderr(), "{}", report::safe_lines(said.trim_end()))
    } else {
        why.print()
    }
}

/// `-2d` and `-3c` are values, not options: a hyphen before a digit becomes a
/// minus sign, which the grammar takes.
fn minus(word: OsString) -> OsString {
    match word.to_str() {
        Some(text) if text.len() > 1 => match text.strip_prefix('-') {
            Some(rest) if rest.starts_with(|c: char| c.is_ascii_digit()) => {
                OsString::from(format!("\u{2212}{rest}"))
            }
            _ => word,
        },
        _ => word,
    }
}

/// Runs a verb. Returns how it ended, and what it saved.
fn obey(line: Line, out: &mut dyn Write) -> (Result<Exit, Trouble>, Option<String>) {
    match &line.verb {
        Some(Verb::Completions(args)) => return (docs::completions(args, out), None),
        Some(Verb::Man(args)) => return (docs::man(args, out), None),
        _ => {}
    }
    match Shell::new(line.store.as_deref(), line.json, out) {
        Ok(mut shell) => {
            shell.new_store = line.new_store;
            // The dashboard says on its screen what is wrong with the maker's own files.
            if line.verb.is_some() {
                shell.use_own_ingredients();
            }
            (run_verb(&mut shell, line.verb), shell.saved)
        }
        Err(trouble) => (Err(trouble), None),
    }
}

fn run_verb(sh: &mut Shell<'_>, verb: Option<Verb>) -> Result<Exit, Trouble> {
    match verb {
        None => shelf::dashboard(sh),
        Some(Verb::Demo(args)) => shelf::demo(sh, &args),
        Some(Verb::Today(args)) => today::today(sh, &args),
        Some(Verb::Round(args)) => round::round(sh, &args),
        Some(Verb::Show(args)) => today::show(sh, &args),
        Some(Verb::Read(args)) => read::read(sh, &args),
        Some(Verb::Done(args)) => steps::done(sh, &args),
        Some(Verb::Skip(args)) => steps::skip(sh, &args),
        Some(Verb::Move(args)) => steps::go(sh, &args),
        Some(Verb::Start(args)) => start::start(sh, &args),
        Some(Verb::Pitch(args)) => start::pitch(sh, &args),
        Some(Verb::Plan(args)) => planning::plan(sh, &args),
        Some(Verb::Day(args)) => day::day(sh, &args),
        Some(Verb::Season(args)) => season::season(sh, &args),
        Some(Verb::Away(args)) => season::away(sh, &args),
        Some(Verb::Pantry(args)) => pantry::pantry(sh, &args),
        Some(Verb::Bottle(args)) => bottle::bottle(sh, &args),
        Some(Verb::Rack(args)) => handling::rack(sh, &args),
        Some(Verb::Pour(args)) => handling::pour(sh, &args),
        Some(Verb::Stabilise(args)) => handling::stabilise(sh, &args),
        Some(Verb::Sweeten(args)) => handling::sweeten(sh, &args),
        Some(Verb::Cellar(args)) => cellar::cellar(sh, &args),
        Some(Verb::Take(args)) => cellar::take(sh, &args),
        Some(Verb::Taste(args)) => cellar::taste(sh, &args),
        Some(Verb::Compare(args)) => cellar::compare(sh, &args),
        Some(Verb::Sheet(args)) => sheet::sheet(sh, &args),
        Some(Verb::Note(args)) => read::note(sh, &args),
        Some(Verb::Vessels(args)) => shelf::vessels(sh, &args),
        Some(Verb::Places(args)) => shelf::places(sh, &args),
        Some(Verb::Routines(args)) => routines::routines(sh, &args),
        Some(Verb::Figure(args)) => figure::figure(sh, &args),
        Some(Verb::Settings(args)) => changes::settings(sh, &args),
        Some(Verb::Keys) => keys::keys(sh),
        Some(Verb::Import(args)) => import::import(sh, &args),
        Some(Verb::Listen(args)) => listen::listen(sh, &args),
        Some(Verb::Export(args)) => export::export(sh, &args),
        Some(Verb::Calendar(args)) => export::calendar(sh, &args),
        Some(Verb::Rebuild(args)) => export::rebuild(sh, &args),
        Some(Verb::Backup(args)) => keep::backup(sh, &args),
        Some(Verb::Restore(args)) => keep::restore(sh, &args),
        Some(Verb::Check) => keep::check(sh),
        Some(Verb::Undo) => changes::undo(sh),
        Some(Verb::Redo) => changes::redo(sh),
        Some(Verb::History(args)) => changes::history(sh, &args),
        Some(Verb::Completions(_) | Verb::Man(_)) => Ok(Exit::Fine),
    }
}
