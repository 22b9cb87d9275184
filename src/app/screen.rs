//! The screens there are.

/// A screen. Overlays lie on top of one and are not listed here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Screen {
    /// Every vessel that holds something, worst first.
    Shelf,
    /// The walk from vessel to vessel.
    Round,
    /// One batch: trend, plan, ledger.
    Batch,
    /// The trend of one batch, as large as the screen.
    Trend,
    /// Every trade sum, away from any batch.
    Bench,
    /// A batch being planned.
    Planner,
    /// The day itself, line by line.
    Checklist,
    /// Vessels against weeks.
    Season,
    /// The pantry and the shopping list.
    Pantry,
    /// Routines being made and changed.
    Editor,
    /// Bottling day.
    Bottling,
    /// Racking, pouring together, stabilising, sweetening.
    Handling,
    /// Bottles, and batches side by side.
    Cellar,
    /// The first minute.
    Welcome,
}

impl Screen {
    /// All of them.
    pub const ALL: &'static [Self] = &[
        Self::Shelf,
        Self::Round,
        Self::Batch,
        Self::Trend,
        Self::Bench,
        Self::Planner,
        Self::Checklist,
        Self::Season,
        Self::Pantry,
        Self::Editor,
        Self::Bottling,
        Self::Handling,
        Self::Cellar,
        Self::Welcome,
    ];

    /// Its name, in the top line and the help.
    pub fn title(self) -> &'static str {
        match self {
            Self::Shelf => "shelf",
            Self::Round => "round",
            Self::Batch => "batch",
            Self::Trend => "trend",
            Self::Bench => "bench",
            Self::Planner => "planner",
            Self::Checklist => "the day",
            Self::Season => "season",
            Self::Pantry => "pantry",
            Self::Editor => "routines",
            Self::Bottling => "bottling",
            Self::Handling => "racking",
            Self::Cellar => "cellar",
            Self::Welcome => "welcome",
        }
    }

    /// One sentence for the help.
    pub fn about(self) -> &'static str {
        match self {
            Self::Shelf => {
                "Every vessel that holds something, worst harm first, and what is due today and in the coming week."
            }
            Self::Round => {
                "The walk from vessel to vessel, only where something is wanted, one question each."
            }
            Self::Batch => {
                "One batch from plan to bottle: its trend, its steps, its ledger, and what the readings say."
            }
            Self::Trend => {
                "The trend of one batch in large: read values off, look closer, lay earlier batches over it."
            }
            Self::Bench => {
                "Every trade sum away from any batch: gravity, alcohol, must, gas, sulfite, blends; each with its why."
            }
            Self::Planner => {
                "A batch before there is one: change any number and the others follow; what is locked stays."
            }
            Self::Checklist => {
                "The day of a batch in order, each line with this batch's amounts, ticked with the time kept."
            }
            Self::Season => {
                "Vessels against weeks: what is where, when each falls free, what clashes, and the days away."
            }
            Self::Pantry => "What there is, what goes stale, and what to buy for the coming plans.",
            Self::Editor => "Routines as a line of days: make, change, check and save your own.",
            Self::Bottling => {
                "May it be bottled, with how much sugar, into which bottles; a hold gives way to a typed reason only."
            }
            Self::Handling => {
                "Rack, split, blend, top up, stabilise, sweeten: what comes of it is told before it is done."
            }
            Self::Cellar => {
                "Bottles: how many, where, ready when, how they tasted, what to open next; and all batches side by side."
            }
            Self::Welcome => "The first minute: units, a place, vessels and a first batch.",
        }
    }

    /// Whether plain characters are text there and no commands.
    pub fn types(self) -> bool {
        matches!(
            self,
            Self::Bench | Self::Bottling | Self::Handling | Self::Welcome
        )
    }
}
