//! The trend as it is drawn: invented samples at several sizes, and any data at any size.

#[path = "samples/trends.rs"]
mod trends;

use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use skep::app::trend::{
    PointKind, StepFate, TrendCurve, TrendData, TrendPoint, TrendStep, TrendView,
};
use skep::domain::records::{GravityScale, UnitSystem};
use skep::domain::units::{Celsius, Gravity, GravityDelta};
use skep::engine::Spread;
use skep::tui::theme::{Depth, Ground, Theme};
use skep::tui::widgets::trend::{trend, trend_time_at};

fn drawn(data: &TrendData, view: &TrendView, theme: Theme, width: u16, height: u16) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    trend(data, view, &theme, area, &mut buf);
    buf
}

fn text(buf: &Buffer) -> String {
    let area = buf.area;
    let line = |y| {
        let cells = (0..area.width).filter_map(|x| buf.cell((x, y)));
        cells.map(|c| c.symbol().to_owned()).collect::<String>()
    };
    (0..area.height)
        .map(|y| line(y).trim_end().to_owned())
        .collect::<Vec<_>>()
        .join("\n")
}

fn view() -> TrendView {
    TrendView::new(UnitSystem::Us, GravityScale::Sg)
}

#[test]
fn samples_at_the_size_of_the_shelf() {
    for name in trends::NAMES {
        let buf = drawn(&trends::sample(name), &view(), Theme::default(), 60, 14);
        insta::assert_snapshot!(format!("trend_60x14_{name}"), text(&buf));
    }
}

#[test]
fn one_sample_at_every_size_of_note() {
    for (width, height) in [(40, 8), (80, 12), (80, 24), (140, 40)] {
        let mut view = view();
        view.names = height > 20;
        let buf = drawn(&trends::healthy(), &view, Theme::default(), width, height);
        insta::assert_snapshot!(format!("trend_{width}x{height}"), text(&buf));
    }
}

#[test]
fn styles_in_four_colour_modes() {
    for (name, depth) in [
        ("none", Depth::None),
        ("16", Depth::Sixteen),
        ("256", Depth::Indexed),
        ("true", Depth::True),
    ] {
        let mut view = view();
        view.put_cursor(&trends::healthy(), 8.3);
        let theme = Theme::new(depth, Ground::Light);
        let buf = drawn(&trends::sample("bad-reading"), &view, theme, 44, 12);
        insta::assert_debug_snapshot!(format!("trend_styles_{name}"), buf);
    }
}

#[test]
fn shapes_tell_readings_curve_and_doubt_apart_without_colour() {
    let theme = Theme::new(Depth::None, Ground::Dark);
    let said = text(&drawn(
        &trends::sample("bad-reading"),
        &view(),
        theme,
        80,
        20,
    ));
    assert_eq!(
        said.matches('×').count(),
        2,
        "one reading, one in the legend"
    );
    assert!(said.matches('●').count() >= 7);
    let plain = Theme {
        ascii: true,
        ..theme
    };
    let said = text(&drawn(
        &trends::sample("bad-reading"),
        &view(),
        plain,
        80,
        20,
    ));
    assert!(
        said.is_ascii() || said.replace(['±', '°'], "").is_ascii(),
        "{said}"
    );
}

#[test]
fn the_cursor_reads_off_the_reading_under_it() {
    let data = trends::sample("bad-reading");
    let mut view = view();
    view.cursor_to_reading(&data, true);
    let first = text(&drawn(&data, &view, Theme::default(), 80, 20));
    // The sample's first reading: 1.102 on day 1 at 0.8 of the day.
    assert!(
        first.starts_with("day 1, Sat 14 Nov 19:12  read 1.102 SG ±0.001"),
        "{first}"
    );
    for _ in 0..5 {
        view.cursor_to_reading(&data, true);
    }
    let odd = text(&drawn(&data, &view, Theme::default(), 80, 20));
    assert!(
        odd.lines().next().is_some_and(|l| l.contains("doubted")),
        "{odd}"
    );
}

#[test]
fn a_click_names_the_time_under_it() {
    let data = trends::healthy();
    let area = Rect::new(3, 2, 60, 14);
    let (from, to) = view().shown(&data);
    let first = trend_time_at(&data, &view(), area, 9, 5).unwrap();
    let last = trend_time_at(&data, &view(), area, 62, 5).unwrap();
    assert!(from < first && last < to && (to - last) < 0.5);
    assert_eq!(trend_time_at(&data, &view(), area, 3, 5), None);
    assert_eq!(trend_time_at(&data, &view(), area, 63, 5), None);
}

#[test]
fn no_extreme_of_a_logger_is_hidden() {
    let mut data = trends::sample("logger");
    for p in &mut data.points {
        p.odd = false;
        p.gravity = Gravity::known(1.050);
    }
    data.curve.clear();
    data.healthy.clear();
    if let Some(p) = data.points.get_mut(1500) {
        p.gravity = Gravity::known(1.090);
    }
    let buf = drawn(&data, &view(), Theme::default(), 60, 14);
    let said = text(&buf);
    let column = |row: &str| {
        row.chars()
            .skip(6)
            .any(|c| ('\u{2801}'..='\u{28ff}').contains(&c))
    };
    // The one high reading stands alone near the top, on a row of its own.
    assert!(said.lines().skip(1).take(3).any(column), "{said}");
}

/// Numbers that stand on a screen, whole: digits with at most one point.
fn numbers(line: &str) -> Vec<String> {
    line.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|w| w.contains('.'))
        .map(str::to_owned)
        .collect()
}

fn any_data() -> impl Strategy<Value = TrendData> {
    let day = prop_oneof![
        -50.0..400.0_f64,
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(1e12)
    ];
    let sg = 0.95..1.45_f64;
    let points = prop::collection::vec(
        (day.clone(), sg.clone(), -0.1..0.1_f64, any::<bool>()),
        0..40,
    );
    let curve = prop::collection::vec((day.clone(), sg.clone(), sg.clone(), sg), 0..40);
    let steps = prop::collection::vec((day.clone(), any::<String>()), 0..12);
    let warmth = prop::collection::vec((day.clone(), -30.0..110.0_f64), 0..40);
    let finish = prop::option::of((day.clone(), day.clone(), day));
    (points, curve, steps, warmth, finish).prop_map(|(points, curve, steps, warmth, finish)| {
        let mut data = trends::sample("none");
        data.points = points
            .into_iter()
            .map(|(at, g, e, odd)| TrendPoint {
                at,
                gravity: Gravity::clamped(g),
                error: GravityDelta::clamped(e),
                kind: PointKind::Hydrometer,
                odd,
            })
            .collect();
        data.curve = curve
            .into_iter()
            .map(|(at, a, b, c)| TrendCurve {
                at,
                gravity: Spread {
                    p10: Gravity::clamped(a),
                    p50: Gravity::clamped(b),
                    p90: Gravity::clamped(c),
                },
            })
            .collect();
        data.steps = steps
            .into_iter()
            .map(|(at, name)| TrendStep {
                at,
                name,
                fate: StepFate::Done,
            })
            .collect();
        data.warmth = warmth
            .into_iter()
            .map(|(at, c)| (at, Celsius::clamped(c)))
            .collect();
        data.finish = finish.map(|(p10, p50, p90)| Spread { p10, p50, p90 });
        data
    })
}

proptest! {
    #[test]
    fn any_data_draws_at_any_size(
        data in any_data(),
        width in 0_u16..160,
        height in 0_u16..60,
        flags in any::<[bool; 6]>(),
        span in prop::option::of((-1e3..1e3_f64, -1e3..1e3_f64)),
        cursor in prop::option::of(-1e3..1e3_f64),
    ) {
        let [names, dates, earlier, plato, us, ascii] = flags;
        let mut view = TrendView::new(
            if us { UnitSystem::Us } else { UnitSystem::Metric },
            if plato { GravityScale::Plato } else { GravityScale::Sg },
        );
        (view.names, view.dates, view.earlier) = (names, dates, earlier);
        (view.span, view.cursor) = (span, cursor);
        let theme = Theme { ascii, ..Theme::default() };
        drawn(&data, &view, theme, width, height);
        view.zoom(&data, 0.3);
        view.pan(&data, -0.4);
        view.move_cursor(&data, 0.1);
        view.cursor_to_reading(&data, false);
        drawn(&data, &view, theme, width, height);
    }

    #[test]
    fn a_number_is_never_cut(width in 8_u16..100, height in 1_u16..40, which in 0..trends::NAMES.len()) {
        let name = trends::NAMES.get(which).copied().unwrap_or("healthy");
        let said = text(&drawn(&trends::sample(name), &view(), Theme::default(), width, height));
        for line in said.lines() {
            for number in numbers(line) {
                let decimals = number.split('.').nth(1).map_or(0, str::len);
                prop_assert_eq!(decimals, 3, "{} in {}", number, line);
            }
        }
    }

    #[test]
    fn nothing_is_drawn_outside_its_area(width in 1_u16..90, height in 1_u16..30) {
        let whole = Rect::new(0, 0, width + 6, height + 6);
        let mut buf = Buffer::filled(whole, ratatui::buffer::Cell::new("~"));
        let area = Rect::new(3, 3, width, height);
        let mut view = view();
        (view.names, view.earlier) = (true, true);
        trend(&trends::healthy(), &view, &Theme::default(), area, &mut buf);
        for y in 0..whole.height {
            for x in 0..whole.width {
                if !area.contains((x, y).into()) {
                    prop_assert_eq!(buf.cell((x, y)).map(ratatui::buffer::Cell::symbol), Some("~"));
                }
            }
        }
    }
}
