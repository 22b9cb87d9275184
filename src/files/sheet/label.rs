use super::page;
use crate::domain::text::safe;
use maud::html;

/// What a bottle label says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Label {
    /// Name of the batch.
    pub name: String,
    /// What it is: `still traditional mead`.
    pub kind: String,
    /// Strength with its unit; empty when unknown.
    pub strength: String,
    /// Size of the bottle; empty when unknown.
    pub size: String,
    /// What someone may have to avoid.
    pub contains: Vec<String>,
    /// Day of bottling.
    pub bottled: String,
    /// Good from; empty when unknown.
    pub ready: String,
    /// What was overridden when it was filled; empty where nothing was.
    pub caution: String,
    /// Mark by which the bottle is found in the ledger.
    pub lot: String,
}

/// Most labels on one page run; more is surely a slip of the finger.
pub const MOST_LABELS: usize = 600;

impl Label {
    fn middle(&self) -> String {
        let parts: Vec<&str> = [&self.strength, &self.size]
            .into_iter()
            .filter(|s| !s.is_empty())
            .map(String::as_str)
            .collect();
        parts.join(" · ")
    }

    fn dates(&self) -> String {
        let mut line = format!("bottled {}", self.bottled);
        if !self.ready.is_empty() {
            line.push_str(", ready from ");
            line.push_str(&self.ready);
        }
        line
    }

    fn contains_line(&self) -> String {
        if self.contains.is_empty() {
            String::new()
        } else {
            format!("contains {}", self.contains.join(", "))
        }
    }
}

/// A sheet of labels, each as often as its count says, at most [`MOST_LABELS`].
pub fn labels_html(labels: &[(Label, usize)]) -> String {
    let all = labels
        .iter()
        .flat_map(|(label, count)| std::iter::repeat_n(label, *count))
        .take(MOST_LABELS);
    let body = html! {
        div.labels {
            @for label in all {
                div.label {
                    strong { (safe(&label.name)) }
                    div { (safe(&label.kind)) }
                    div { (safe(&label.middle())) }
                    div.small { (safe(&label.dates())) }
                    @if !label.contains.is_empty() { div.small { (safe(&label.contains_line())) } }
                    @if !label.caution.is_empty() { div.small { strong { (safe(&label.caution)) } } }
                    div.small { (safe(&label.lot)) " · home-made, not for sale" }
                }
            }
        }
    };
    page("Bottle labels", &body)
}

/// The label in plain lines, for a tag written by hand.
pub fn label_text(label: &Label) -> String {
    [
        safe(&label.name),
        safe(&label.kind),
        safe(&label.middle()),
        safe(&label.dates()),
        safe(&label.contains_line()),
        safe(&label.caution),
        safe(&label.lot),
    ]
    .into_iter()
    .filter(|line| !line.is_empty())
    .fold(String::new(), |mut out, line| {
        out.push_str(&line);
        out.push('\n');
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn label() -> Label {
        Label {
            name: "Linden & <b>Rain</b>".into(),
            kind: "still traditional mead".into(),
            strength: "12.4 % vol".into(),
            size: "12 fl oz".into(),
            contains: vec!["sulfites".into(), "honey".into()],
            bottled: "3 Nov 2026".into(),
            ready: "1 Feb 2027".into(),
            caution: String::new(),
            lot: "L7".into(),
        }
    }

    #[test]
    fn as_many_labels_as_bottles() {
        let html = labels_html(&[(label(), 10)]);
        assert_eq!(html.matches("class=\"label\"").count(), 10);
        assert!(html.contains("Linden &amp; &lt;b&gt;Rain&lt;/b&gt;"));
        assert!(html.contains("contains sulfites, honey"));
    }

    #[test]
    fn a_tag_by_hand_is_six_short_lines() {
        let text = label_text(&label());
        assert_eq!(text.lines().count(), 6);
        assert!(text.contains("bottled 3 Nov 2026, ready from 1 Feb 2027"));
    }

    #[test]
    fn an_override_stands_on_the_label() {
        let label = Label {
            caution: "Filled against a hold (pressure)".into(),
            ..label()
        };
        assert!(label_text(&label).contains("against a hold (pressure)"));
        assert!(labels_html(&[(label, 1)]).contains("against a hold (pressure)"));
    }
}
