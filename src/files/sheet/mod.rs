//! Pages to print: a batch sheet and a sheet of bottle labels, as HTML that
//! needs nothing but itself; and a label in plain text for a handwritten tag.
//!
//! Takes words and numbers that are ready to show. Every text passes
//! [`safe`], is escaped, and the page forbids scripts and anything from outside.

mod label;
mod trend;

pub use label::{Label, MOST_LABELS, label_text, labels_html};
pub use trend::{SheetTrend, Tick};

use crate::domain::text::safe;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A line of two columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Left: what, or when.
    pub what: String,
    /// Right: the value, or what happened.
    pub value: String,
}

impl Line {
    /// From two texts.
    pub fn new(what: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            value: value.into(),
        }
    }
}

/// What a batch sheet shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// Name of the batch.
    pub title: String,
    /// Style and vessel.
    pub subtitle: String,
    /// Strength, gravities, volume, dates.
    pub facts: Vec<Line>,
    /// What it contains that someone may have to avoid.
    pub contains: Vec<String>,
    /// Gravity over days; left out without readings.
    pub trend: Option<SheetTrend>,
    /// Steps with their days and what became of them.
    pub plan: Vec<Line>,
    /// The ledger in order.
    pub ledger: Vec<Line>,
    /// Cautions that go with it.
    pub cautions: Vec<String>,
    /// When it was made, in words.
    pub printed: String,
}

const STYLE: &str = "
:root{color-scheme:light}
body{font:11pt/1.45 Georgia,'DejaVu Serif',serif;color:#1d1d1b;background:#fff;max-width:46em;margin:2em auto;padding:0 1em}
h1{font-size:1.7em;margin:0}h2{font-size:1.05em;margin:1.6em 0 .4em;color:#7a4a00}
.sub,footer{color:#595959}
table{border-collapse:collapse;width:100%}
th{font-weight:normal;text-align:left;color:#595959;padding:.12em 1.2em .12em 0;vertical-align:top;white-space:nowrap}
td{padding:.12em 0;vertical-align:top;width:100%;font-variant-numeric:tabular-nums;overflow-wrap:anywhere}
svg{width:100%;height:auto}
.caution{border-left:.25em solid #b3261e;padding:.2em .8em;margin:.5em 0}
footer{margin-top:2em;font-size:.85em}
.labels{display:grid;grid-template-columns:repeat(3,1fr);gap:3mm}
.label{border:1px solid #8a8a8a;border-radius:2mm;padding:3mm;break-inside:avoid;font-size:9pt;line-height:1.3}
.label strong{display:block;font-size:1.25em;overflow-wrap:anywhere}
.label .small{font-size:.82em;color:#333}
@media print{body{margin:0;max-width:none}h2{break-after:avoid}tr,.caution{break-inside:avoid}}
";

/// The whole page around a body. The policy lets nothing in but the style above.
fn page(title: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="generator" content="skep";
                meta http-equiv="Content-Security-Policy"
                    content="default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (safe(title)) }
                style { (PreEscaped(STYLE)) }
            }
            body { (body) }
        }
    }
    .into_string()
}

fn table(lines: &[Line]) -> Markup {
    html! {
        table {
            @for line in lines {
                tr { th scope="row" { (safe(&line.what)) } td { (safe(&line.value)) } }
            }
        }
    }
}

fn section(title: &str, lines: &[Line]) -> Markup {
    html! {
        @if !lines.is_empty() { h2 { (title) } (table(lines)) }
    }
}

/// The batch sheet as one HTML file.
pub fn sheet_html(sheet: &Sheet) -> String {
    let body = html! {
        h1 { (safe(&sheet.title)) }
        p.sub { (safe(&sheet.subtitle)) }
        (table(&sheet.facts))
        @if !sheet.contains.is_empty() {
            p { strong { "Contains: " } (safe(&sheet.contains.join(", "))) }
        }
        @for caution in &sheet.cautions { p.caution { (safe(caution)) } }
        @if let Some(trend) = &sheet.trend { h2 { "Gravity by day" } (trend::svg(trend)) }
        (section("Steps", &sheet.plan))
        (section("Ledger", &sheet.ledger))
        footer { (safe(&sheet.printed)) }
    };
    page(&sheet.title, &body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_words_stay_words() {
        let sheet = Sheet {
            title: "<script>alert(1)</script>".into(),
            facts: vec![Line::new("a\u{202e}b", "\" onload=\"x")],
            ledger: vec![Line::new("</table><img src=x>", "\u{1b}[31mred")],
            ..Sheet::default()
        };
        let html = sheet_html(&sheet);
        assert!(!html.contains("<script"), "{html}");
        assert!(!html.contains("<img"), "{html}");
        assert!(!html.contains('\u{1b}') && !html.contains('\u{202e}'));
        assert!(html.contains("&lt;script&gt;"));
        assert!(html.contains("default-src 'none'"));
    }

    #[test]
    fn empty_parts_leave_no_headings() {
        let html = sheet_html(&Sheet::default());
        assert!(!html.contains("<h2>"));
    }
}
