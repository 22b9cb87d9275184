use crate::domain::records::BatchId;
use crate::domain::units::Moment;
use crate::store::cells::{Cells, Odd, flag, int, opt_amount, opt_real, opt_text, word};
use crate::store::{Course, Lesson};

/// A row of `lesson`.
pub(crate) fn read(c: &impl Cells) -> Result<Lesson, Odd> {
    let course = match (opt_amount(c, "og")?, opt_amount(c, "fg")?) {
        (Some(og), Some(fg)) => Some(Course {
            og,
            fg,
            days: opt_real(c, "days")?.unwrap_or(0.0),
            temperature: opt_amount(c, "celsius")?,
            stuck: flag(c, "stuck")?,
        }),
        _ => None,
    };
    let until = Moment::from_stored(int(c, "until_ms")?, 0);
    Ok(Lesson {
        batch: BatchId(int(c, "batch")?),
        until: until.ok_or_else(|| Odd("until_ms is no instant".into()))?,
        style: word(c, "style")?,
        yeast: opt_text(c, "yeast")?,
        place: opt_text(c, "place")?,
        expected_fg: opt_amount(c, "expected_fg")?,
        course,
    })
}
