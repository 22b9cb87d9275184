//! The words of the trade and of skep, each in a sentence.

/// Word and meaning, in alphabetical order.
pub const WORDS: &[(&str, &str)] = &[
    ("active", "A ferment whose gravity falls at a good pace."),
    (
        "ageing",
        "Kept in bulk for months after the ferment, to mellow.",
    ),
    (
        "airlock",
        "A water trap on the vessel: gas goes out, air stays out. Its silence proves nothing.",
    ),
    (
        "alcohol",
        "Percent of the volume at 20 °C that is alcohol; worked out from original and present gravity.",
    ),
    (
        "attenuation",
        "How much of the original sugar the yeast has used.",
    ),
    (
        "back-sweeten",
        "To sweeten a finished drink; safe only when it is stabilised or kept cold.",
    ),
    (
        "batch",
        "One must or wort from its plan to its last bottle.",
    ),
    ("bench", "The sums a maker needs away from any batch."),
    (
        "Brix",
        "Grams of sugar in 100 g of solution, as a refractometer shows it. Alcohol shifts it.",
    ),
    ("cellar", "The bottles: what, how many, where, ready when."),
    (
        "condition",
        "To let gas form, or the drink come together, in the closed bottle.",
    ),
    (
        "degas",
        "To swirl dissolved gas out, so that yeast works better and gravity reads true.",
    ),
    (
        "doubtful",
        "The readings can't settle yet what the ferment is doing.",
    ),
    (
        "final gravity",
        "Where gravity ends up when the yeast is done.",
    ),
    ("finished", "Gravity is at its end and stands still."),
    (
        "gravity",
        "Density beside water at 20 °C: 1.000 is water, sugar raises it, alcohol lowers it.",
    ),
    ("headspace", "The room between the drink and the bung."),
    (
        "hold",
        "A reason not to do something yet, such as: do not bottle.",
    ),
    (
        "hydrometer",
        "A float that shows gravity; it reads true at one temperature, skep corrects the rest.",
    ),
    (
        "lag",
        "The first hours or days after pitching, before gravity falls.",
    ),
    (
        "ledger",
        "A batch's whole history in order: readings, steps, amounts, moves, notes.",
    ),
    ("lees", "What settles at the bottom: yeast and solids."),
    ("melomel", "Mead with fruit."),
    (
        "must",
        "Honey and water, or juice, before and while it ferments.",
    ),
    (
        "nutrient",
        "Food for yeast, above all nitrogen; honey has next to none.",
    ),
    ("original gravity", "Gravity before the yeast went in."),
    (
        "pH",
        "Acidity: 3.4 is usual for a mead; below 3.0 yeast suffers.",
    ),
    ("pitch", "To put the yeast in. That day is day 1."),
    (
        "place",
        "Where vessels stand. One temperature of a place counts for every vessel in it.",
    ),
    (
        "Plato",
        "Grams of sugar in 100 g of must of the same density.",
    ),
    ("point", "0.001 of gravity: 1.042 has 42 points."),
    (
        "prime",
        "To add a weighed amount of sugar before bottling, for gas.",
    ),
    (
        "rack",
        "To siphon the drink off its lees into a clean vessel.",
    ),
    (
        "refractometer",
        "Shows sugar by how it bends light; after the pitch it needs correcting for alcohol.",
    ),
    ("resting", "Clearing, left alone before bottling."),
    (
        "round",
        "The morning walk from vessel to vessel, only where something is wanted.",
    ),
    ("routine", "A reusable list of steps."),
    (
        "season",
        "Vessels against weeks: what is where, and when each falls free.",
    ),
    (
        "shelf",
        "Every vessel that holds something, worst harm first.",
    ),
    ("skep", "A beehive of woven straw; and this program."),
    ("slip", "The one line in which a reading is typed."),
    ("slowing", "Still falling, with the end in sight."),
    (
        "sparkling",
        "Meant to hold much gas; needs bottles that bear it.",
    ),
    (
        "stabilise",
        "Sulfite and sorbate after the end, so that yeast does not start again.",
    ),
    (
        "step",
        "One thing to do for a batch: when it opens, when it is due, when lateness does harm, and why.",
    ),
    ("still", "Meant to hold no gas."),
    (
        "stuck",
        "Gravity has stopped falling although sugar is left that a healthy yeast would take.",
    ),
    (
        "sulfite",
        "Keeps oxygen and microbes down. Can trigger asthma or allergy-like attacks: label every treated bottle.",
    ),
    ("top up", "To fill the headspace after a loss."),
    ("wort", "The sugary liquid from malt that becomes beer."),
];

#[cfg(test)]
mod tests {
    use super::WORDS;

    #[test]
    fn words_stand_in_order_and_once() {
        let keys: Vec<String> = WORDS.iter().map(|(w, _)| w.to_lowercase()).collect();
        let mut sorted = keys.clone();
        sorted.sort();
        sorted.dedup();
        assert_eq!(keys, sorted);
    }
}
