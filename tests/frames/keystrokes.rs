//! How many keys the commonest actions take, counted by doing them. The table
//! is kept in docs/keystrokes.md, and is compared with what is counted here.

use crate::kit::{Table, keys_in};
use skep::app::Screen;

struct Deed {
    /// What the maker wants.
    what: &'static str,
    /// Keys that lead to where it begins; not counted.
    from: &'static str,
    /// Where that is, in words.
    place: &'static str,
    /// Keys that do it.
    keys: &'static str,
    /// The most it may take.
    most: usize,
    /// Whether it was done.
    done: fn(&Table) -> bool,
}

fn said(table: &Table, words: &str) -> bool {
    table.text().contains(words)
}

const DEEDS: &[Deed] = &[
    Deed {
        what: "see what the morning wants",
        from: "",
        place: "started",
        keys: "",
        most: 0,
        done: |t| said(t, "seems stuck") && said(t, "today"),
    },
    Deed {
        what: "a gravity of the chosen vessel",
        from: "",
        place: "shelf",
        keys: "54<Enter>",
        most: 4,
        done: |t| said(t, "reading 1.054 of J2"),
    },
    Deed {
        what: "a gravity of the next vessel",
        from: "",
        place: "shelf",
        keys: "j79<Enter>",
        most: 4,
        done: |t| said(t, "reading 1.079 of J1"),
    },
    Deed {
        what: "a temperature of the place",
        from: "",
        place: "shelf",
        keys: "t66<Enter>",
        most: 4,
        done: |t| said(t, "66 °F"),
    },
    Deed {
        what: "a step done",
        from: "j",
        place: "shelf, on its vessel",
        keys: "d<Enter>",
        most: 2,
        done: |t| said(t, "done") && t.state.overlays.is_empty() && t.state.undo.is_some(),
    },
    Deed {
        what: "a step done on the round",
        from: "rn",
        place: "round, at its stop",
        keys: "<Enter><Enter>",
        most: 2,
        done: |t| t.state.round.as_ref().is_some_and(|r| r.tally().0 == 1),
    },
    Deed {
        what: "a step left out, with a usual reason",
        from: "j",
        place: "shelf, on its vessel",
        keys: "x<Down><Enter>",
        most: 3,
        done: |t| t.state.overlays.is_empty() && said(t, "skipped"),
    },
    Deed {
        what: "a step moved to the next day",
        from: "j",
        place: "shelf, on its vessel",
        keys: "m<Up><Enter>",
        most: 3,
        done: |t| t.state.overlays.is_empty() && said(t, "moved"),
    },
    Deed {
        what: "the last change taken back",
        from: "54<Enter>",
        place: "anywhere",
        keys: "u",
        most: 1,
        done: |t| said(t, "undone: reading 1.054"),
    },
    Deed {
        what: "the advice put on the list",
        from: "",
        place: "shelf, on its vessel",
        keys: "+",
        most: 1,
        done: |t| said(t, "undo"),
    },
    Deed {
        what: "the round begun",
        from: "",
        place: "shelf",
        keys: "r",
        most: 1,
        done: |t| t.state.screen == Screen::Round,
    },
    Deed {
        what: "one batch looked at closely",
        from: "",
        place: "shelf",
        keys: "<Enter>",
        most: 1,
        done: |t| t.state.screen == Screen::Batch,
    },
    Deed {
        what: "its ledger",
        from: "",
        place: "shelf",
        keys: "<Enter><Tab>",
        most: 2,
        done: |t| said(t, "gravity"),
    },
    Deed {
        what: "the trend in large",
        from: "",
        place: "shelf",
        keys: "z",
        most: 1,
        done: |t| t.state.screen == Screen::Trend,
    },
    Deed {
        what: "where the numbers come from",
        from: "",
        place: "shelf",
        keys: "w",
        most: 1,
        done: |t| said(t, "why?") && said(t, "formula"),
    },
    Deed {
        what: "a countdown started",
        from: "j",
        place: "shelf, on its vessel",
        keys: "c",
        most: 1,
        done: |t| t.state.clock.is_some(),
    },
    Deed {
        what: "a note of two letters in the ledger",
        from: "",
        place: "shelf",
        keys: "'ok<Enter>",
        most: 4,
        done: |t| t.state.overlays.is_empty() && said(t, "note"),
    },
    Deed {
        what: "a bottle taken, given or drunk",
        from: "<Home><Down><Down>f<Ctrl-S>steady for three weeks<Ctrl-S>",
        place: "cellar",
        keys: "1<Enter>",
        most: 2,
        done: |t| t.state.overlays.is_empty() && said(t, "9/10"),
    },
    Deed {
        what: "the sum for priming sugar",
        from: "",
        place: "shelf",
        keys: "bpri<Enter>",
        most: 5,
        done: |t| said(t, "volume to bottle"),
    },
    Deed {
        what: "a batch found by its name",
        from: "",
        place: "anywhere",
        keys: "/lin<Enter>",
        most: 5,
        done: |t| t.state.screen == Screen::Batch && said(t, "Linden"),
    },
    Deed {
        what: "help with the keys of this screen",
        from: "",
        place: "anywhere",
        keys: "?",
        most: 1,
        done: |t| said(t, "type to search"),
    },
];

#[test]
fn the_commonest_actions_take_few_keys() {
    let mut lines = Vec::new();
    let mut undone = Vec::new();
    for deed in DEEDS {
        let mut table = Table::new();
        table.press(deed.from);
        let keys = keys_in(deed.keys);
        table.press(deed.keys);
        if !(deed.done)(&table) {
            undone.push(format!("{}\n{}", deed.what, table.text()));
        }
        assert!(keys.len() <= deed.most, "{}: {keys:?}", deed.what);
        let shown: Vec<String> = keys.iter().map(|k| format!("`{k}`")).collect();
        let (what, place) = (deed.what, deed.place);
        let (shown, count) = (shown.join(" "), keys.len());
        lines.push(format!("| {what} | {place} | {shown} | {count} |"));
    }
    assert!(undone.is_empty(), "{}", undone.join("\n"));
    let written = include_str!("../../docs/keystrokes.md");
    let table = written
        .split_once("| --- | --- | --- | ---: |\n")
        .unwrap()
        .1;
    let table = table.split("\n\n").next().unwrap();
    assert_eq!(table.trim_end(), lines.join("\n"), "docs/keystrokes.md");
}
