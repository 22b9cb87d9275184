use super::home::Home;
use serde_json::Value;

fn keys(value: &Value) -> Vec<&str> {
    let mut keys: Vec<&str> = value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    keys.sort_unstable();
    keys
}

#[test]
fn every_report_names_its_format_and_kind() {
    let home = Home::with_mead(3);
    for (line, kind) in [
        ("today", "today"),
        ("show J2", "vessel"),
        ("read J2 80 68f", "reading"),
        ("done J2 swirl", "deed"),
        ("undo", "deed"),
        ("vessels", "vessels"),
        ("places", "places"),
        ("history", "changes"),
        ("routines", "routines"),
        ("settings", "settings"),
        ("figure", "figures"),
        ("figure alcohol og=1.092 sg=1.010", "figure"),
    ] {
        let report = home.json(line);
        assert_eq!(report["format"], 1, "{line}");
        assert_eq!(report["report"], kind, "{line}");
    }
}

#[test]
fn the_shape_of_the_morning_stays() {
    let home = Home::with_mead(3);
    home.skep("read J2 80 68f").success();
    let today = home.json("today");
    assert_eq!(
        keys(&today),
        [
            "at",
            "due",
            "exit",
            "format",
            "free",
            "overridden",
            "report",
            "revision",
            "rows"
        ]
    );
    assert_eq!(
        keys(&today["rows"][0]),
        [
            "alcohol",
            "batch",
            "day",
            "fermented",
            "flags",
            "gravity",
            "name",
            "next",
            "reading_due",
            "rest_until",
            "stage",
            "state",
            "style",
            "sure",
            "tag",
            "temperature",
            "urgency"
        ]
    );
    assert_eq!(
        keys(&today["due"][0]),
        [
            "amount",
            "batch",
            "countdown_s",
            "due",
            "forecast",
            "harm",
            "kind",
            "opens",
            "overdue_after",
            "step",
            "tag",
            "timing",
            "title",
            "waits",
            "wanted",
            "warning",
            "weight",
            "why"
        ]
    );
    assert_eq!(today["exit"]["code"], 11);
    assert_eq!(today["free"][0], "J1");
}

#[test]
fn a_refused_reading_still_answers_in_json() {
    let home = Home::with_mead(7);
    home.skep("read J2 60 -1d").success();
    let report = home.json("read J2 72");
    assert_eq!(report["kept"], false);
    assert!(
        report["doubts"][0]
            .as_str()
            .unwrap()
            .contains("does not rise")
    );
}

#[test]
fn a_figure_has_its_number_and_its_source() {
    let home = Home::empty();
    let report = home.json("figure alcohol og=1.100 sg=1.000");
    let abv = report["lines"][0]["value"].as_f64().unwrap();
    // 13.5 % by the excise table of HMRC (Notice 226): 100 points x 0.135.
    assert!((abv - 13.5).abs() < 0.3, "{abv}");
    assert!(!report["why"]["source"].as_array().unwrap().is_empty());
}
