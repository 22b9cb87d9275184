//! Row numbers as types, so that a vessel is never taken for a batch.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub i64);
    )*};
}

ids! {
    /// A place where vessels stand.
    PlaceId;
    /// A vessel.
    VesselId;
    /// A batch.
    BatchId;
    /// A time a batch spends in a vessel.
    StayId;
    /// A reading.
    ReadingId;
    /// An instrument.
    InstrumentId;
    /// A step of one batch.
    StepId;
    /// A ledger entry that is neither a reading nor a step.
    EventId;
    /// One undoable change.
    ChangeId;
    /// A thing in the pantry.
    PantryId;
    /// Something taken out of the pantry.
    PantryDrawId;
    /// The size of a place.
    RoomId;
    /// Days away from home.
    AwayId;
    /// A ticked line of a checklist.
    TickId;
    /// Bottles of one size filled from one batch on one day.
    LotId;
    /// Bottles that left a lot.
    DrawId;
    /// A tasting.
    TastingId;
}
