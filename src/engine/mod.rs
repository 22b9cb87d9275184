//! What each ferment is doing, with honest uncertainty: pure, given `now`.
//!
//! Lives here: the physics of a ferment, the inference from readings, causes,
//! advice, the bottling gate. Must not live here: rows, keys, clocks, screens,
//! files. The one door is [`assess()`];
//! [`what_if`] asks the same with one thing changed.

mod account;
mod advice;
mod advise;
mod assess;
mod assessment;
mod balance;
pub mod bottling;
mod causes;
pub mod cellar;
mod cores;
mod curve;
mod dense;
mod evidence;
pub mod facts;
mod flags;
mod followup;
mod gas;
pub mod handling;
mod hypotheses;
mod inputs;
mod learn;
mod linear;
mod memory;
mod modes;
mod morning;
mod normal;
mod outlook;
mod picture;
mod posterior;
mod prior;
mod proposal;
mod quick;
mod say;
mod schedule;
pub mod season;
mod series;
mod stops;
pub mod stories;
mod suspect;
mod thermal;
mod trend;
mod voice;
mod waking;
mod whatif;

pub use account::*;
pub use advice::*;
pub use assess::assess;
pub use assessment::*;
pub use balance::SugarBalance;
pub use flags::*;
pub use followup::{ADVISED, follow_up_steps};
pub use gas::*;
pub use inputs::*;
pub use memory::{Memory, SUMS};
pub use morning::*;
pub use say::chance_of;
pub use schedule::*;
pub use voice::{TemperatureUnit, Voice};
pub use whatif::*;
