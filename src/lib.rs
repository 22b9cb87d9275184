//! skep: a terminal dashboard for one person who keeps several fermentations
//! going at once.
//!
//! The program is this library behind a `main` of one line, so every floor of
//! the house can be used by itself:
//!
//! | floor | what it is |
//! | --- | --- |
//! | [`domain::units`] | quantities as types: a bare number crosses no boundary |
//! | [`domain::sums`] | the sums of the trade, each with equation, range, error and source |
//! | [`domain::records`], [`domain::slip`] | batches, readings, steps; the grammar of what is typed |
//! | [`engine`] | what a ferment is doing, with honest uncertainty |
//! | [`store`] | the SQLite file; all SQL |
//! | [`work`] | deeds: one undoable change each |
//! | [`files`] | CSV, JSON lines, iCalendar, HTML, TOML |
//! | [`app`], [`tui`], [`cli`] | state and keys; views; shell verbs |
//!
//! Dependencies point one way, and only [`clock`] reads the clock.
//!
//! # The sums as a library
//!
//! A sum takes typed quantities and answers a typed quantity, or a
//! [`SumError`](domain::sums::SumError) whose sentence says what was wrong and
//! what is accepted. It is pure, and does not extrapolate beyond the range its
//! source covers.
//!
//! What a hydrometer calibrated at 20 °C really says in a sample of 30 °C:
//!
//! ```
//! use skep::domain::sums::hydrometer::{Hydrometer, corrected};
//! use skep::domain::units::{Abw, Celsius, Gravity};
//!
//! let seen = Gravity::new(1.050)?;
//! let true_gravity = corrected(Hydrometer::TRUE_20, seen, Celsius::new(30.0)?, Abw::new(0.0)?)?;
//! assert!((true_gravity.get() - 1.0528).abs() < 0.0005);
//! # Ok::<(), skep::domain::sums::SumError>(())
//! ```
//!
//! Sugar for a gallon, and what the bottle then bears on a summer's day:
//!
//! ```
//! use skep::domain::sums::carbonation::{self, Drink, Primer};
//! use skep::domain::units::{Abv, Celsius, GramsPerLitre, Litres, Volumes};
//!
//! let residual = carbonation::residual(Celsius::new(20.0)?)?;
//! let target = Volumes::new(2.5)?;
//! let priming = carbonation::priming(target, residual, Litres::new(3.785)?, Primer::Sucrose)?;
//! assert!((23.0..25.0).contains(&priming.amount.get()));
//!
//! let drink = Drink { alcohol: Abv::new(12.0)?, sugar: GramsPerLitre::new(0.0)? };
//! let summer = carbonation::bottle_pressure(target, drink, Celsius::new(35.0)?)?;
//! assert!((4.0..5.5).contains(&summer.gauge.get())); // bar above the air
//! # Ok::<(), skep::domain::sums::SumError>(())
//! ```
//!
//! # One ferment
//!
//! ```
//! use skep::domain::units::{Celsius, Gravity, GravityDelta, Moment};
//! use skep::engine::{Facts, History, Observation, OriginalGravity, Seen, Style, assess};
//!
//! let pitched = Moment::new("2026-05-01T18:00:00+02:00".parse()?);
//! let mut facts = Facts::of(Style::Mead);
//! facts.og = Some(OriginalGravity::Measured(Gravity::new(1.095)?));
//! facts.pitched = Some(pitched);
//! facts.usual_temperature = Some(Celsius::new(20.0)?);
//!
//! let read = |day, gravity| Observation {
//!     at: pitched.plus_days(day),
//!     temperature: None,
//!     seen: Seen::Hydrometer {
//!         gravity: Gravity::known(gravity),
//!         resolution: GravityDelta::known(0.001),
//!     },
//! };
//! let fell = [(3.0, 1.078), (6.0, 1.055), (8.0, 1.049)];
//! let stood = [(11.0, 1.048), (14.0, 1.048), (17.0, 1.048)];
//! let readings: Vec<_> = fell.iter().chain(&stood).map(|&(d, g)| read(d, g)).collect();
//!
//! let now = pitched.plus_days(18.0);
//! let said = assess(&facts, &readings, &[], &History::default(), now);
//! assert!(said.stuck.probability.get() > 0.9);
//! assert!(!said.advice.is_empty());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod app;
pub mod cli;
pub mod clock;
pub mod domain;
pub mod engine;
pub mod files;
pub mod store;
pub mod tui;
pub mod work;
