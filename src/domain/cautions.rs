//! Cautions, each said where it belongs: on screens, in sums, in files, in the
//! manual. They defer to local law. Wording from the trade's safety notes
//! (common practice); no dose or limit stands here.

/// Burst bottles.
pub const BOTTLES: &str = "A bottle that is still fermenting can explode without warning. Do not bottle until gravity is steady. Wear eye protection and gloves, point bottles away from faces, keep them boxed and cool, never drop, heat or shake.";
/// Heavy glass.
pub const GLASS: &str = "A full 5-gallon glass carboy weighs over 50 lb and shatters into blades. Two hands, dry, crate or harness, never by the neck; no hot liquid.";
/// Gas in a closet.
pub const GAS: &str = "Fermentation fills low, closed spaces with gas you cannot smell. Leave the door ajar, air the closet before bending inside, leave at headache, dizziness or fast breathing.";
/// The same beside a figure that already says to leave the door ajar.
pub const GAS_SIGNS: &str = "Fermentation fills low, closed spaces with gas you cannot smell. Leave at headache, dizziness or fast breathing.";
/// Sulfite.
pub const SULFITE: &str = "Sulfites can trigger asthma or allergy-like attacks. Label every treated bottle. Do not breathe the powder or fumes.";
/// Cleaning agents.
pub const CLEANING: &str = "Never mix bleach with acid, sanitiser, sulfite or ammonia. Gloves and goggles for strong cleaners.";
/// Honey and infants.
pub const HONEY: &str = "Never give honey, raw or heated, to a child under 12 months.";
/// Alcohol.
pub const TASTE: &str = "Do not drink if pregnant, driving, using machinery, under age, or if medicine or illness forbids it.";
/// Foam, where nothing is put in.
pub const SWIRL: &str = "A gassy must foams over: begin gently.";
/// Foam.
pub const FOAM: &str = "A gassy must foams over: begin gently. Powder into it erupts: stir nutrient into a little water first.";

/// What skep is not.
pub const DEFERS: &str = "skep is no medical or legal advice: check your local law on making, keeping and giving away, and follow licensed practice. For adults; not for sale; no help with distilling.";
/// All of them, worst harm first.
pub const ALL: &[&str] = &[BOTTLES, GAS, GLASS, CLEANING, SULFITE, FOAM, HONEY, TASTE];
