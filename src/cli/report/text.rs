//! Reports for people: short lines, states as words, nothing that needs colour.
//! Names and notes pass [`safe`] before they are printed.

use crate::app::{advice, say};
use crate::domain::records::{
    Household, LedgerEntry, LedgerLine, Routine, Settings, Step, StepStatus,
};
use crate::domain::sums::figures::{Figure, FigureSpec, System};
use crate::domain::units::Moment;
use crate::engine::{Account, Morning, WhatIf};
use crate::engine::{Due, Errand, Standing, Timing};
use crate::engine::{Flag, Voice};
use crate::tui::text::{fit, fit_right, safe, wrap};
use chrono::NaiveDate;
use std::io::{self, Write};

/// Columns of a line.
const WIDTH: usize = 78;

/// The scale on which this maker reads temperatures.
pub(crate) fn unit_of(settings: &Settings) -> Voice {
    Voice::of(settings)
}

/// Lines broken between words, the first after `head`, the others under it.
fn paragraph(out: &mut dyn Write, head: &str, words: &str) -> io::Result<()> {
    let indent = crate::tui::text::width(head);
    let mut head = head.to_owned();
    for line in wrap(&safe(words), WIDTH.saturating_sub(indent)) {
        writeln!(out, "{head}{line}")?;
        head = " ".repeat(indent);
    }
    Ok(())
}

/// The morning list.
pub(crate) fn today(
    out: &mut dyn Write,
    household: &Household,
    morning: &Morning,
    due: &[&Due],
) -> io::Result<()> {
    let now = morning.now;
    writeln!(out, "{}", now.datetime().format("%A %-d %B %Y, %H:%M"))?;
    if morning.accounts.is_empty() {
        writeln!(out, "\nNo vessel holds anything.")?;
    }
    writeln!(out)?;
    for row in &morning.accounts {
        row_lines(out, row, household, now, false)?;
    }
    due_lines(out, household, morning, due)?;
    let free: Vec<String> = morning
        .free_vessels
        .iter()
        .filter_map(|id| household.vessel(*id))
        .map(|v| safe(&v.tag))
        .collect();
    if !free.is_empty() {
        writeln!(out)?;
        paragraph(out, "Free: ", &free.join(", "))?;
    }
    Ok(())
}

/// What was filled against a hold, until it is gone.
pub(crate) fn overridden(out: &mut dyn Write, all: &[String]) -> io::Result<()> {
    if !all.is_empty() {
        writeln!(out)?;
    }
    for one in all {
        paragraph(out, "Caution: ", one)?;
    }
    Ok(())
}

/// One vessel in a line, with what is wrong under it. Late steps are left out
/// where a list of steps follows.
fn row_lines(
    out: &mut dyn Write,
    row: &Account,
    household: &Household,
    now: Moment,
    steps_too: bool,
) -> io::Result<()> {
    let settings = &household.settings;
    let day = row.day.map_or(String::new(), say::batch_day);
    let gravity = row.last.map_or(String::new(), |last| {
        say::gravity_number(last.corrected, settings.gravity)
    });
    let age = row
        .last
        .map_or(String::new(), |last| say::age(last.at, now));
    let share = row.fermented().map_or(String::new(), say::share);
    let line = format!(
        "{} {} {} {} {} {} {}",
        fit(&safe(&row.tag), 6),
        fit(&safe(&row.name), 28),
        fit_right(&day, 8),
        fit_right(&gravity, 6),
        fit_right(&age, 6),
        fit(row.state.word(), 9),
        fit_right(&share, 5),
    );
    writeln!(out, "{}", line.trim_end())?;
    let is_step = |f: &Flag| matches!(f, Flag::StepLate { .. } | Flag::StepTooLate { .. });
    for flag in row.flags.iter().filter(|f| steps_too || !is_step(f)) {
        paragraph(
            out,
            &format!("       {}: ", flag.short()),
            &flag.sentence(settings),
        )?;
    }
    if let Some(until) = row.rest_until {
        writeln!(
            out,
            "       leave alone until {}",
            say::date_of(until, now.day())
        )?;
    }
    Ok(())
}

fn due_lines(
    out: &mut dyn Write,
    household: &Household,
    morning: &Morning,
    due: &[&Due],
) -> io::Result<()> {
    let now = morning.now;
    let errands = morning.errands();
    let heading = if errands.is_empty() {
        "\nNothing is due today."
    } else {
        "\nTo do today"
    };
    writeln!(out, "{heading}")?;
    for (account, errand) in errands {
        match errand {
            Errand::Step(step) | Errand::TooLate(step) => step_line(out, household, step, now)?,
            Errand::Read(why) => {
                let head = format!("  {} {} ", fit(&safe(&account.tag), 6), fit("today", 20));
                paragraph(out, &head, "take a gravity reading")?;
                let why = advice::why_read(why, &household.settings, now);
                paragraph(out, &" ".repeat(30), &why)?;
            }
        }
    }
    for (i, step) in morning.optional().enumerate() {
        if i == 0 {
            writeln!(out, "\nWhen you have time")?;
        }
        step_line(out, household, step, now)?;
    }
    let ahead = |d: &&Due| matches!(d.timing, Timing::Soon | Timing::Later);
    let coming = due.iter().copied().filter(ahead);
    for (i, step) in coming.enumerate() {
        if i == 0 {
            writeln!(out, "\nComing")?;
        }
        due_line(out, household, step, now.day())?;
    }
    Ok(())
}

/// When a step is to be done, in words.
pub(crate) fn due_when(due: &Due, today: NaiveDate) -> String {
    let late = say::lateness(due.due, today);
    match due.timing {
        Timing::Late | Timing::Overdue if !late.is_empty() => late,
        Timing::InWindow if due.due == today => "today".to_owned(),
        Timing::InWindow => format!("by {}", say::date_of(due.due, today)),
        Timing::TooLate => "too late".to_owned(),
        _ => {
            let about = if due.forecast { "about " } else { "" };
            match due.waits {
                Some(waits) => waits.word().to_owned(),
                None => format!("{about}{}", say::day(due.opens, today)),
            }
        }
    }
}

/// A step with the harm of its lateness and what speaks against it.
fn step_line(
    out: &mut dyn Write,
    household: &Household,
    step: &Due,
    now: Moment,
) -> io::Result<()> {
    due_line(out, household, step, now.day())?;
    let indent = " ".repeat(30);
    if step.timing == Timing::Overdue && !step.harm.is_empty() {
        paragraph(out, &indent, &step.harm)?;
    }
    if let Some(warning) = &step.warning {
        paragraph(out, &indent, &warning.sentence())?;
    }
    Ok(())
}

fn due_line(
    out: &mut dyn Write,
    household: &Household,
    due: &Due,
    today: NaiveDate,
) -> io::Result<()> {
    let head = format!(
        "  {} {} ",
        fit(&safe(&due.tag), 6),
        fit(&due_when(due, today), 20)
    );
    let amount = if due.amount.is_empty() {
        String::new()
    } else {
        format!(": {}", due.amount)
    };
    // Without a vessel the batch's name tells whose step it is.
    let whose = household
        .dossier(due.batch)
        .filter(|_| due.tag.is_empty())
        .map_or(String::new(), |d| format!("{}: ", d.batch.name));
    paragraph(out, &head, &format!("{whose}{}{amount}", due.title))
}

/// One vessel.
pub(crate) fn show(
    out: &mut dyn Write,
    household: &Household,
    morning: &Morning,
    row: &Account,
    what_ifs: &[WhatIf],
) -> io::Result<()> {
    let now = morning.now;
    let settings = &household.settings;
    row_lines(out, row, household, now, true)?;
    forecast_lines(out, row, settings, now)?;
    let unit = unit_of(settings);
    heading(
        out,
        "Why",
        row.assessment.evidence.iter().map(|e| e.sentence(unit)),
    )?;
    let advice = row
        .assessment
        .advice
        .iter()
        .map(|a| advice::sentence(row, a, unit, now));
    heading(out, "Advice, one thing at a time", advice)?;
    let said = &row.assessment;
    let avoid = said.advice.first().into_iter().flat_map(|a| &a.avoid);
    heading(out, "Meanwhile", avoid.map(|a| a.sentence(unit)))?;
    let causes = said.causes.iter().map(|c| c.sentence(unit));
    heading(out, "What may be the cause", causes)?;
    let next = said.next_reading.iter().map(|n| n.sentence(now));
    heading(out, "Most useful next reading", next)?;
    heading(out, "What if", what_ifs.iter().map(|w| w.sentence(unit)))?;
    let holds = row.holds.iter().map(|h| h.sentence(unit));
    heading(out, "Do not bottle yet", holds)?;
    step_lines(out, household, morning, row)
}

fn heading(
    out: &mut dyn Write,
    title: &str,
    lines: impl Iterator<Item = String>,
) -> io::Result<()> {
    for (i, line) in lines.enumerate() {
        if i == 0 {
            writeln!(out, "\n{title}")?;
        }
        paragraph(out, "  - ", &line)?;
    }
    Ok(())
}

fn forecast_lines(
    out: &mut dyn Write,
    row: &Account,
    settings: &Settings,
    now: Moment,
) -> io::Result<()> {
    let figures = &row.figures;
    if let Some((alcohol, end)) = figures.alcohol.zip(figures.alcohol_end) {
        let (alcohol, end) = (say::abv(alcohol), say::abv(end));
        writeln!(out, "  alcohol {alcohol} now, {end} at the finish")?;
    }
    let number = |g| say::gravity_number(g, settings.gravity);
    if let Some(now) = figures.likely {
        let (p10, p50, p90) = (number(now.p10), number(now.p50), number(now.p90));
        writeln!(out, "  gravity {p50} now ({p10} to {p90})")?;
    }
    if let Some(end) = figures.expected_end {
        writeln!(out, "  expected final gravity {}", number(end))?;
    }
    if let Some(end) = figures.final_gravity {
        let (p10, p50, p90) = (number(end.p10), number(end.p50), number(end.p90));
        writeln!(out, "  forecast final gravity {p50} ({p10} to {p90})")?;
    }
    if let Some(volume) = row.volume {
        writeln!(out, "  volume {}", say::volume(volume, settings.units))?;
    }
    if let Some(finish) = row.finish_ahead(now.day()) {
        let date = |day| say::date_of(day, now.day());
        let (p10, p50, p90) = (date(finish.p10), date(finish.p50), date(finish.p90));
        writeln!(out, "  finish about {p50} ({p10} to {p90})")?;
    }
    if let Some((t, at)) = row.temperature {
        let said = say::temperature(t, settings.units);
        writeln!(out, "  {said}, {}", say::when(at, now))?;
    }
    Ok(())
}

/// The number by which a step can be named, its key and its title.
fn step_lines(
    out: &mut dyn Write,
    household: &Household,
    morning: &Morning,
    row: &Account,
) -> io::Result<()> {
    let Some(dossier) = household.dossier(row.batch) else {
        return Ok(());
    };
    if dossier.steps.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nSteps")?;
    for (i, step) in dossier.steps.iter().enumerate() {
        let placed = morning.due.iter().find(|d| d.step == step.id);
        let when = step_when(step, morning);
        let head = format!(
            "  {} {} {} ",
            fit_right(&(i + 1).to_string(), 3),
            fit(&safe(&step.rule.key), 16),
            fit(&when, 22)
        );
        paragraph(out, &head, &step.rule.title)?;
        if let Some(warning) = placed.and_then(|d| d.warning.as_ref()) {
            paragraph(out, &" ".repeat(46), &warning.sentence())?;
        }
    }
    Ok(())
}

/// What became of a step, or when it is to be done.
pub(crate) fn step_when(step: &Step, morning: &Morning) -> String {
    let today = morning.now.day();
    let placed = morning.due.iter().find(|d| d.step == step.id);
    match (&step.status, placed) {
        (StepStatus::Done { at }, _) => format!("done {}", say::date_of(at.day(), today)),
        (StepStatus::Skipped { .. }, _) => "left out".to_owned(),
        (StepStatus::Open, Some(due)) => due_when(due, today),
        (StepStatus::Open, None) => morning
            .passed(step.id)
            .map_or("open", Standing::word)
            .to_owned(),
    }
}

/// A batch's ledger, oldest first.
pub(crate) fn ledger(
    out: &mut dyn Write,
    lines: &[LedgerLine],
    household: &Household,
    now: Moment,
) -> io::Result<()> {
    writeln!(out, "\nLedger")?;
    for line in lines {
        let head = format!("  {} ", fit(&say::when(line.at, now), 18));
        let fate = match line.fate {
            crate::domain::records::Fate::Stands => "",
            crate::domain::records::Fate::Mended { .. } => " (mended)",
            crate::domain::records::Fate::Removed { .. } => " (removed)",
            crate::domain::records::Fate::Undone { .. } => " (taken back)",
        };
        let words = entry(&line.entry, household, now);
        paragraph(out, &head, &format!("{words}{fate}"))?;
    }
    Ok(())
}

fn with_note(said: String, note: &str) -> String {
    if note.is_empty() {
        said
    } else {
        format!("{said}: {note}")
    }
}

/// An entry of the ledger in words.
pub(crate) fn entry(entry: &LedgerEntry, household: &Household, now: Moment) -> String {
    let units = household.settings.units;
    let tag = |id| household.vessel(id).map_or("", |v| v.tag.as_str());
    match entry {
        LedgerEntry::Reading(r) => {
            let seen = format!("{} {} {}", r.seen.kind(), r.seen.value(), r.seen.unit());
            let sample = r
                .sample_temp
                .map_or(String::new(), |t| format!(" at {} {}", t.value(), t.unit()));
            with_note(format!("{seen}{sample}"), &r.note)
        }
        LedgerEntry::Event(e) => {
            let amount = match (e.mass, e.volume) {
                (Some(m), _) => format!(" {}", say::mass(m, units)),
                (None, Some(v)) => format!(" {}", say::volume(v, units)),
                (None, None) => String::new(),
            };
            let what = if e.substance.is_empty() {
                String::new()
            } else {
                format!(" {}", e.substance)
            };
            with_note(format!("{}{amount}{what}", e.kind), &e.note)
        }
        LedgerEntry::StepDone { title, .. } => format!("done: {title}"),
        LedgerEntry::StepSkipped { title, reason, .. } => {
            with_note(format!("left out: {title}"), reason)
        }
        LedgerEntry::StepMoved { title, to, .. } => {
            format!("moved to {}: {title}", say::date_of(*to, now.day()))
        }
        LedgerEntry::Arrived(stay) => format!("into {}", tag(stay.vessel)),
        LedgerEntry::Left(stay) => format!("out of {}", tag(stay.vessel)),
        LedgerEntry::Filled(lot) => format!(
            "filled {} × {} ({})",
            lot.count,
            say::volume(lot.size, units),
            lot.class
        ),
        LedgerEntry::Drawn(draw) => with_note(format!("{} {}", draw.count, draw.kind), &draw.note),
        LedgerEntry::Tasted(t) => with_note("tasted".to_owned(), &t.words),
        LedgerEntry::Changed { name } => name.clone(),
    }
}

/// A routine with its steps.
pub(crate) fn routine(
    out: &mut dyn Write,
    routine: &Routine,
    settings: &Settings,
) -> io::Result<()> {
    writeln!(out, "{} ({})", safe(&routine.title), safe(&routine.key))?;
    let volume = say::volume(routine.volume, settings.units);
    writeln!(
        out,
        "{} · {} · {volume}",
        routine.style,
        safe(&routine.variety)
    )?;
    paragraph(out, "", &routine.about)?;
    paragraph(out, "Source: ", &routine.source)?;
    for rule in &routine.steps {
        let head = format!("\n  {} ", fit(&safe(&rule.key), 16));
        let head_width = head.trim_start_matches('\n');
        let amount = if rule.amount.is_empty() {
            String::new()
        } else {
            format!(": {}", rule.amount)
        };
        writeln!(out)?;
        paragraph(out, head_width, &format!("{}{amount}", rule.title))?;
        let indent = " ".repeat(19);
        paragraph(out, &indent, &opens(rule))?;
        paragraph(out, &indent, &rule.why)?;
    }
    Ok(())
}

fn opens(rule: &crate::domain::records::StepRule) -> String {
    use crate::domain::records::Opens;
    match &rule.opens {
        Opens::Day { day } => say::batch_day(i64::from(*day)),
        Opens::SugarGone { share, or_day } => {
            let or = or_day.map_or(String::new(), |d| format!(", or day {d} if that is first"));
            format!("when {} of the sugar is gone{or}", say::share(*share))
        }
        Opens::Finished { days, not_before } => {
            let not = not_before.map_or(String::new(), |d| format!(", not before day {d}"));
            match days {
                0 => format!("when finished{not}"),
                n => format!(
                    "{} after the finish{not}",
                    say::count(i64::from(*n), "day", "days")
                ),
            }
        }
        Opens::After { step, days } => {
            format!(
                "{} after {step}",
                say::count(i64::from(*days), "day", "days")
            )
        }
        Opens::Stable { days } => {
            format!(
                "when gravity has stood still for {}",
                say::count(i64::from(*days), "day", "days")
            )
        }
    }
}

/// A figure in the list of all.
pub(crate) fn figure_line(out: &mut dyn Write, spec: &FigureSpec) -> io::Result<()> {
    let names: Vec<&str> = spec.inputs.iter().map(|i| i.name).collect();
    paragraph(out, &format!("  {} ", fit(spec.id, 20)), spec.about)?;
    paragraph(out, &" ".repeat(23), &names.join(", "))
}

/// What a figure takes.
pub(crate) fn figure_inputs(out: &mut dyn Write, spec: &FigureSpec) -> io::Result<()> {
    writeln!(out, "{}", spec.title)?;
    paragraph(out, "", spec.about)?;
    for input in spec.inputs {
        let need = match (input.default, input.optional) {
            (Some(value), _) => format!(" Usually {value}."),
            (None, true) => " May be left out.".to_owned(),
            (None, false) => String::new(),
        };
        let head = format!("  {} ", fit(input.name, 20));
        let accepted = input.kind.accepted();
        paragraph(
            out,
            &head,
            &format!("{}; accepted: {accepted}.{need}", input.help),
        )?;
    }
    Ok(())
}

/// A figure's answer.
pub(crate) fn figure(out: &mut dyn Write, answer: &Figure, system: System) -> io::Result<()> {
    for line in &answer.lines {
        let within = line
            .plus_minus_text()
            .map_or(String::new(), |w| format!(" ± {w}"));
        let head = format!("{} ", fit(&line.label, 28));
        paragraph(out, &head, &format!("{}{within}", line.text(system)))?;
    }
    for note in &answer.notes {
        paragraph(out, "", note)?;
    }
    Ok(())
}
