use crate::domain::records::{BatchId, Opens, Step, StepId, StepRule, StepStatus, TooLate};
use crate::domain::units::Share;
use crate::store::cells::{
    Cell, Cells, Odd, Record, amount, int, lent, moment, opt_day, opt_real, opt_small, small, text,
    to, word,
};
use rusqlite::types::Value;

fn opens_cells(opens: &Opens) -> Vec<Cell> {
    let (by, day, share, days, step): (
        &str,
        Option<i32>,
        Option<Share>,
        Option<i32>,
        Option<&str>,
    ) = match opens {
        Opens::Day { day } => ("day", Some(*day), None, None, None),
        Opens::SugarGone { share, or_day } => ("sugar-gone", *or_day, Some(*share), None, None),
        Opens::Finished { days, not_before } => ("finished", *not_before, None, Some(*days), None),
        Opens::After { step, days } => ("after", None, None, Some(*days), Some(step)),
        Opens::Stable { days } => ("stable", None, None, Some(*days), None),
    };
    vec![
        ("opens", to::text(by)),
        ("opens_day", to::opt_int(day)),
        ("opens_share", to::opt_real(share)),
        ("opens_days", to::opt_int(days)),
        ("opens_step", to::opt_text(step)),
    ]
}

fn opens(c: &impl Cells) -> Result<Opens, Odd> {
    Ok(match lent(c, "opens")?.as_ref() {
        "day" => Opens::Day {
            day: small(c, "opens_day")?,
        },
        "sugar-gone" => Opens::SugarGone {
            share: amount(c, "opens_share")?,
            or_day: opt_small(c, "opens_day")?,
        },
        "finished" => Opens::Finished {
            days: small(c, "opens_days")?,
            not_before: opt_small(c, "opens_day")?,
        },
        "after" => Opens::After {
            step: text(c, "opens_step")?,
            days: small(c, "opens_days")?,
        },
        "stable" => Opens::Stable {
            days: small(c, "opens_days")?,
        },
        other => return Err(Odd(format!("opens '{other}' is not a known word"))),
    })
}

fn late_cells(late: TooLate) -> Vec<Cell> {
    let (when, share, abv, days) = match late {
        TooLate::Never => ("never", None, None, None),
        TooLate::SugarGone { share, abv } => ("sugar-gone", Some(share), abv, None),
        TooLate::Day { day } => ("day", None, None, Some(day)),
        TooLate::DaysAfterDue { days } => ("days-after-due", None, None, Some(days)),
    };
    vec![
        ("late", to::text(when)),
        ("late_share", to::opt_real(share)),
        ("late_abv", to::opt_real(abv)),
        ("late_days", to::opt_int(days)),
    ]
}

fn late(c: &impl Cells) -> Result<TooLate, Odd> {
    Ok(match lent(c, "late")?.as_ref() {
        "never" => TooLate::Never,
        "sugar-gone" => TooLate::SugarGone {
            share: amount(c, "late_share")?,
            abv: opt_real(c, "late_abv")?,
        },
        "day" => TooLate::Day {
            day: small(c, "late_days")?,
        },
        "days-after-due" => TooLate::DaysAfterDue {
            days: small(c, "late_days")?,
        },
        other => return Err(Odd(format!("late '{other}' is not a known word"))),
    })
}

fn status_cells(status: &StepStatus) -> Vec<Cell> {
    let (word, at, reason) = match status {
        StepStatus::Open => ("open", None, Value::Null),
        StepStatus::Done { at } => ("done", Some(*at), Value::Null),
        StepStatus::Skipped { at, reason } => ("skipped", Some(*at), to::text(reason)),
    };
    let mut cells = vec![("status", to::text(word)), ("reason", reason)];
    cells.extend(to::opt_moment("status_ms", "status_off", at));
    cells
}

fn status(c: &impl Cells) -> Result<StepStatus, Odd> {
    Ok(match lent(c, "status")?.as_ref() {
        "open" => StepStatus::Open,
        "done" => StepStatus::Done {
            at: moment(c, "status_ms", "status_off")?,
        },
        "skipped" => StepStatus::Skipped {
            at: moment(c, "status_ms", "status_off")?,
            reason: text(c, "reason")?,
        },
        other => return Err(Odd(format!("status '{other}' is not a known word"))),
    })
}

impl Record for Step {
    const TABLE: &'static str = "step";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let rule = &self.rule;
        let mut cells = vec![
            ("batch", to::int(self.batch.0)),
            ("key", to::text(&rule.key)),
            ("title", to::text(&rule.title)),
            ("kind", to::text(rule.kind.word())),
            ("due_window", to::int(rule.window)),
            ("slack", to::int(rule.slack)),
            ("why", to::text(&rule.why)),
            ("harm", to::text(&rule.harm)),
            ("weight", to::int(rule.weight)),
            ("amount", to::text(&rule.amount)),
            ("countdown_s", to::opt_int(rule.countdown)),
            ("sequence", to::int(rule.order)),
            ("moved_to", to::opt_day(self.moved_to)),
        ];
        cells.extend(opens_cells(&rule.opens));
        cells.extend(late_cells(rule.too_late));
        cells.extend(status_cells(&self.status));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: StepId(int(c, "id")?),
            batch: BatchId(int(c, "batch")?),
            rule: StepRule {
                key: text(c, "key")?,
                title: text(c, "title")?,
                kind: word(c, "kind")?,
                opens: opens(c)?,
                window: small(c, "due_window")?,
                slack: small(c, "slack")?,
                too_late: late(c)?,
                why: text(c, "why")?,
                harm: text(c, "harm")?,
                weight: small(c, "weight")?,
                amount: text(c, "amount")?,
                countdown: opt_small(c, "countdown_s")?,
                order: small(c, "sequence")?,
            },
            status: status(c)?,
            moved_to: opt_day(c, "moved_to")?,
        })
    }
}
