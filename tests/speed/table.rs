//! What was measured, beside its mark.

use std::fmt::Write as _;

/// One line of the table.
pub(crate) struct Line {
    pub(crate) what: String,
    /// The figure in words.
    pub(crate) figure: String,
    /// The mark in words; empty where there is none.
    pub(crate) mark: String,
    /// The figure as a part of its mark: up to 1 is met.
    pub(crate) ratio: Option<f64>,
}

/// All lines so far.
#[derive(Default)]
pub(crate) struct Table {
    lines: Vec<Line>,
}

impl Table {
    /// A figure that should be at most its mark.
    pub(crate) fn at_most(&mut self, what: &str, value: f64, mark: f64, unit: &str, more: &str) {
        self.put(Line {
            what: what.into(),
            figure: format!("{} {unit}{}", short(value), aside(more)),
            mark: format!("at most {} {unit}", short(mark)),
            ratio: Some(value / mark),
        });
    }

    /// A figure that should be at least its mark.
    pub(crate) fn at_least(&mut self, what: &str, value: f64, mark: f64, unit: &str, more: &str) {
        self.put(Line {
            what: what.into(),
            figure: format!("{} {unit}{}", short(value), aside(more)),
            mark: format!("at least {} {unit}", short(mark)),
            ratio: Some(mark / value),
        });
    }

    /// A figure without a mark.
    pub(crate) fn note(&mut self, what: &str, figure: &str) {
        self.put(Line {
            what: what.into(),
            figure: figure.into(),
            mark: String::new(),
            ratio: None,
        });
    }

    /// Also said at once: a measurement takes minutes.
    fn put(&mut self, line: Line) {
        eprintln!("{}: {} {}", line.what, line.figure, verdict(&line));
        self.lines.push(line);
    }

    /// The whole table as Markdown.
    pub(crate) fn text(&self) -> String {
        let mut text = String::from(
            "| what | figure | mark | of the mark | |\n| --- | --- | --- | --- | --- |\n",
        );
        for line in &self.lines {
            let ratio = line.ratio.map_or(String::new(), |r| format!("{r:.2}"));
            let _ = writeln!(
                text,
                "| {} | {} | {} | {ratio} | {} |",
                line.what,
                line.figure,
                line.mark,
                verdict(line)
            );
        }
        text
    }

    /// Lines whose mark was missed.
    pub(crate) fn missed(&self) -> usize {
        self.lines.iter().filter(|l| verdict(l) == "missed").count()
    }
}

fn verdict(line: &Line) -> &'static str {
    match line.ratio {
        None => "",
        Some(r) if r <= 1.0 => "met",
        Some(_) => "missed",
    }
}

fn aside(more: &str) -> String {
    if more.is_empty() {
        String::new()
    } else {
        format!(" ({more})")
    }
}

/// Three digits that count.
pub(crate) fn short(value: f64) -> String {
    match value.abs() {
        x if x >= 100.0 => format!("{value:.0}"),
        x if x >= 10.0 => format!("{value:.1}"),
        x if x >= 1.0 => format!("{value:.2}"),
        _ => format!("{value:.3}"),
    }
}

/// The middle one; of an even number the lower.
pub(crate) fn median(values: &[f64]) -> f64 {
    part(values, 0.5)
}

/// The value below which that part of them lies.
pub(crate) fn part(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = (share * (sorted.len().saturating_sub(1)) as f64).floor() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}
