//! Shows one invented trend in the terminal, for looking at:
//! `cargo run --example gallery -- healthy 80x24 [names] [dates] [earlier] [plato] [us] [cursor=8.3] [zoom=0.4] [light] [ascii]`.

#[path = "../samples/trends.rs"]
mod trends;

use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use ratatui::{Terminal, TerminalOptions, Viewport};
use skep::app::trend::TrendView;
use skep::domain::records::{GravityScale, UnitSystem};
use skep::tui::theme::{Ground, Theme};
use skep::tui::widgets::trend::trend;

fn main() -> anyhow::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let has = |word: &str| args.iter().any(|a| a == word);
    let value = |name: &str| -> Option<f64> {
        let found = args
            .iter()
            .find_map(|a| a.strip_prefix(name)?.strip_prefix('='))?;
        found.parse().ok()
    };
    if args.is_empty() {
        anyhow::bail!("name a sample: {}", trends::NAMES.join(", "));
    }
    let data = trends::sample(args.first().map_or("healthy", String::as_str));
    let size = args.get(1).and_then(|s| s.split_once('x'));
    let (width, height) = match size {
        Some((w, h)) => (w.parse()?, h.parse()?),
        None => (80, 24),
    };
    let units = if has("us") {
        UnitSystem::Us
    } else {
        UnitSystem::Metric
    };
    let scale = if has("plato") {
        GravityScale::Plato
    } else {
        GravityScale::Sg
    };
    let mut view = TrendView::new(units, scale);
    (view.names, view.dates, view.earlier) = (has("names"), has("dates"), has("earlier"));
    if let Some(at) = value("cursor") {
        view.put_cursor(&data, at);
    }
    if let Some(factor) = value("zoom") {
        view.zoom(&data, factor);
    }
    let ground = has("light").then_some(Ground::Light);
    let mut theme = Theme::of_env(|name| std::env::var(name).ok(), ground);
    theme.ascii = has("ascii");
    let viewport = Viewport::Fixed(Rect::new(0, 0, width, height));
    let mut terminal = Terminal::with_options(
        CrosstermBackend::new(std::io::stdout()),
        TerminalOptions { viewport },
    )?;
    terminal.clear()?;
    terminal.draw(|frame| {
        let area = frame.area();
        trend(&data, &view, &theme, area, frame.buffer_mut());
    })?;
    Ok(())
}
