//! Plain facts as the maker knows them, with their invariants.
//!
//! Lives here: what is stored, as types. Must not live here: SQL, judgement
//! about a ferment (see `engine`), wording of screens.

mod batch;
mod bottle;
mod cellar;
mod history;
mod household;
mod ids;
mod ledger;
mod pantry;
mod reading;
mod routine;
mod settings;
mod step;
mod supplies;
mod vessel;

pub use batch::*;
pub use bottle::*;
pub use cellar::*;
pub use history::*;
pub use household::*;
pub use ids::*;
pub use ledger::*;
pub use pantry::*;
pub use reading::*;
pub use routine::*;
pub use settings::*;
pub use step::*;
pub use supplies::*;
pub use vessel::*;

/// Declares an enum whose variants have one stored and spoken word each.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $word)] $variant,)+
        }

        impl $name {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The word for it, in the store, in files and on the screen.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            /// From its word.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}
pub(crate) use words;
