//! The maker's own keys, laid over the table of [`keys`](super::keys).
//!
//! A file of keys names a place, the word that the foot or the help has for
//! the key there, and the keys. What can't be is said in a sentence and left
//! out; the usual keys stay.

use super::key::Key;
use super::keys::{Binding, Scope, table};
use std::collections::{BTreeMap, HashMap};
use std::fmt::Write;

/// What a file asks for: place, word, names of keys.
pub type Wanted = BTreeMap<String, BTreeMap<String, Vec<String>>>;

/// The maker's own keys.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct KeyMap {
    own: HashMap<(Scope, &'static str), Vec<Key>>,
}

impl KeyMap {
    /// From what a file asks for, with sentences about what was left out.
    pub fn of(wanted: &Wanted) -> (Self, Vec<String>) {
        let mut problems = Vec::new();
        let (mut wide, mut near) = (HashMap::new(), HashMap::new());
        for (place, words) in wanted {
            let Some(scope) = Scope::all().find(|s| s.name() == place) else {
                problems.push(no_place(place));
                continue;
            };
            for (word, names) in words {
                match understood(scope, word, names) {
                    Ok(keys) if scope == Scope::Everywhere => spread(word, &keys, &mut wide),
                    Ok(keys) => {
                        let here = bound(scope, word).map(|b| (scope, b.label));
                        near.extend(here.map(|place| (place, keys.clone())));
                    }
                    Err(said) => problems.push(said),
                }
            }
        }
        // What is said of one place goes before what is said of all.
        wide.extend(near);
        let mut map = Self { own: wide };
        while let Some(said) = map.settle() {
            problems.push(said);
        }
        (map, problems)
    }

    /// The keys of a binding in one place, the one to be shown first.
    pub fn keys(&self, scope: Scope, binding: &Binding) -> &[Key] {
        let own = self.own.get(&(scope, binding.label));
        own.map_or(binding.keys, Vec::as_slice)
    }

    /// Whether a key is one of a binding's there.
    pub fn has(&self, scope: Scope, binding: &Binding, key: Key) -> bool {
        self.keys(scope, binding).contains(&key) || (binding.digits && key.digit().is_some())
    }

    /// The key to be shown for a binding, in the first of these places where it holds.
    pub fn first(&self, scopes: &[Scope], binding: &Binding) -> String {
        if binding.digits {
            return "0-9".into();
        }
        let key = self.held(scopes, binding).first();
        key.map_or_else(String::new, Key::to_string)
    }

    /// All keys of a binding as shown, in the first of these places where it holds.
    pub fn names(&self, scopes: &[Scope], binding: &Binding) -> String {
        let digits = binding.digits.then(|| "0-9".to_owned());
        let keys = self.held(scopes, binding).iter().map(Key::to_string);
        digits.into_iter().chain(keys).collect::<Vec<_>>().join(" ")
    }

    fn held(&self, scopes: &[Scope], binding: &Binding) -> &[Key] {
        let scope = scopes.iter().find(|s| binding.scopes.contains(s));
        scope.map_or(&[], |s| self.keys(*s, binding))
    }

    /// All keys as they are, as a file of keys.
    pub fn written(&self) -> String {
        let mut text = String::new();
        for scope in Scope::all() {
            let held = table().filter(|b| b.scopes.contains(&scope));
            let mut lines = String::new();
            for binding in held {
                let keys = self.keys(scope, binding).iter();
                let keys: Vec<String> = keys.map(|k| quoted(&k.to_string())).collect();
                if !keys.is_empty() {
                    let word = format!("{} = [{}]", quoted(binding.label), keys.join(", "));
                    // Writing to a string can't fail.
                    let _ = writeln!(lines, "{word:<34}  # {}", binding.help);
                }
            }
            if !lines.is_empty() {
                let name = scope.name();
                let place = if name.contains(' ') {
                    quoted(name)
                } else {
                    name.to_owned()
                };
                let _ = write!(text, "\n[{place}]\n{lines}");
            }
        }
        text.trim_start().to_owned()
    }

    /// Takes the first key back that would do two things in one place.
    fn settle(&mut self) -> Option<String> {
        let clash = Scope::all().find_map(|scope| self.clash(scope))?;
        let (key, ours, other) = clash;
        self.own.remove(&(ours.0, ours.1.label));
        let (place, word) = (ours.0.name(), ours.1.label);
        let usual: Vec<String> = ours.1.keys.iter().map(Key::to_string).collect();
        Some(format!(
            "[{place}] {key} would be both '{word}' and '{}'; '{word}' keeps {}",
            other.label,
            usual.join(" ")
        ))
    }

    /// A key of ours that has a second meaning where it is pressed.
    fn clash(&self, scope: Scope) -> Option<(Key, (Scope, &'static Binding), &'static Binding)> {
        let scopes: &[Scope] = if scope.is_plain_screen() {
            &[scope, Scope::Everywhere]
        } else {
            &[scope]
        };
        let held: Vec<(Scope, &'static Binding)> = scopes
            .iter()
            .flat_map(|s| table().filter(|b| b.scopes.contains(s)).map(|b| (*s, b)))
            .collect();
        let is_own = |h: &&(Scope, &'static Binding)| self.own.contains_key(&(h.0, h.1.label));
        held.iter().filter(is_own).find_map(|ours| {
            self.keys(ours.0, ours.1).iter().find_map(|key| {
                let mut others = held.iter().filter(|h| h.1.label != ours.1.label);
                let other = others.find(|h| self.has(h.0, h.1, *key))?;
                Some((*key, *ours, other.1))
            })
        })
    }
}

/// Bindings of a place with that word.
fn bound(scope: Scope, word: &str) -> impl Iterator<Item = &'static Binding> {
    table().filter(move |b| b.label == word && b.scopes.contains(&scope))
}

/// A key said of everywhere counts wherever the word is; where characters are
/// text, only those keys that are none.
fn spread(word: &str, keys: &[Key], into: &mut HashMap<(Scope, &'static str), Vec<Key>>) {
    for binding in table().filter(|b| b.label == word) {
        for scope in binding.scopes {
            let fit = keys.iter().filter(|k| !is_text(*scope, **k));
            let fit: Vec<Key> = fit.copied().collect();
            if !fit.is_empty() {
                into.insert((*scope, binding.label), fit);
            }
        }
    }
}

fn is_text(scope: Scope, key: Key) -> bool {
    scope.types() && key.typed().is_some()
}

fn understood(scope: Scope, word: &str, names: &[String]) -> Result<Vec<Key>, String> {
    let place = scope.name();
    let known = match scope {
        Scope::Everywhere => table().any(|b| b.label == word),
        _ => bound(scope, word).next().is_some(),
    };
    if !known {
        return Err(no_word(scope, word));
    }
    if names.is_empty() {
        return Err(format!("[{place}] '{word}' wants at least one key"));
    }
    let mut keys = Vec::new();
    for name in names {
        let key: Key = name
            .parse()
            .map_err(|e| format!("[{place}] '{word}': {e}"))?;
        if key.digit().is_some() {
            return Err(format!(
                "[{place}] '{word}': {key} is a digit, and digits begin a slip or a value"
            ));
        }
        if is_text(scope, key) {
            return Err(format!(
                "[{place}] '{word}': {key} is text there; take Enter, Tab, F2, Ctrl-X or Alt-X"
            ));
        }
        keys.push(key);
    }
    Ok(keys)
}

fn no_place(place: &str) -> String {
    let names: Vec<&str> = Scope::all().map(Scope::name).collect();
    format!(
        "there is no place [{place}]; there are {}",
        names.join(", ")
    )
}

fn no_word(scope: Scope, word: &str) -> String {
    let held = table().filter(|b| b.scopes.contains(&scope));
    let words: Vec<&str> = held.map(|b| b.label).collect();
    format!(
        "[{}] has no '{word}'; it has {}",
        scope.name(),
        words.join(", ")
    )
}

/// As a TOML string.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::keys::Action;
    use crate::app::screen::Screen;

    const SHELF: Scope = Scope::On(Screen::Shelf);

    fn wanted(lines: &[(&str, &str, &[&str])]) -> Wanted {
        let mut all = Wanted::new();
        for (place, word, keys) in lines {
            let keys = keys.iter().map(|k| (*k).to_owned()).collect();
            let words = all.entry((*place).into()).or_default();
            words.insert((*word).into(), keys);
        }
        all
    }

    fn action(map: &KeyMap, scope: Scope, key: &str) -> Option<Action> {
        let key = key.parse().unwrap();
        let found = table().find(|b| b.scopes.contains(&scope) && map.has(scope, b, key));
        found.map(|b| b.action)
    }

    #[test]
    fn a_key_is_another_in_its_place_and_only_there() {
        let (map, problems) = KeyMap::of(&wanted(&[("shelf", "round", &["R", "F5"])]));
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(action(&map, SHELF, "R"), Some(Action::Round));
        assert_eq!(action(&map, SHELF, "F5"), Some(Action::Round));
        assert_eq!(action(&map, SHELF, "r"), None);
        let batch = Scope::On(Screen::Batch);
        assert_eq!(action(&map, batch, "r"), Some(Action::Round));
    }

    #[test]
    fn two_keys_can_change_places() {
        let lines: [(&str, &str, &[&str]); 2] =
            [("shelf", "round", &["d"]), ("shelf", "done", &["r"])];
        let (map, problems) = KeyMap::of(&wanted(&lines));
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(action(&map, SHELF, "d"), Some(Action::Round));
        assert_eq!(action(&map, SHELF, "r"), Some(Action::Done));
    }

    #[test]
    fn a_key_said_of_everywhere_leaves_text_alone() {
        let (map, problems) = KeyMap::of(&wanted(&[("everywhere", "help", &["H", "F3"])]));
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(action(&map, Scope::Everywhere, "H"), Some(Action::Help));
        let bench = Scope::On(Screen::Bench);
        assert_eq!(action(&map, bench, "H"), None);
        assert_eq!(action(&map, bench, "F3"), Some(Action::Help));
    }

    #[test]
    fn a_key_with_two_meanings_is_said_and_left_out() {
        let (map, problems) = KeyMap::of(&wanted(&[("shelf", "round", &["u"])]));
        let said = "[shelf] u would be both 'round' and 'undo'; 'round' keeps r";
        assert_eq!(problems, [said]);
        assert_eq!(map, KeyMap::default());
        let (_, problems) = KeyMap::of(&wanted(&[("everywhere", "undo", &["r"])]));
        let said = "[everywhere] r would be both 'undo' and 'round'; 'undo' keeps u";
        assert_eq!(problems, [said]);
    }

    #[test]
    fn what_cannot_be_is_said_with_what_can() {
        for (place, word, keys, said) in [
            (
                "shelv",
                "round",
                "R",
                "there is no place [shelv]; there are everywhere, shelf, ",
            ),
            (
                "shelf",
                "rond",
                "R",
                "[shelf] has no 'rond'; it has reading, note, ",
            ),
            (
                "shelf",
                "round",
                "Hyper-R",
                "[shelf] 'round': 'Hyper-R' is not a key: write a letter",
            ),
            (
                "shelf",
                "round",
                "5",
                "[shelf] 'round': 5 is a digit, and digits begin a slip",
            ),
            (
                "slip",
                "keep it",
                "k",
                "[slip] 'keep it': k is text there; take Enter, Tab",
            ),
        ] {
            let (map, problems) = KeyMap::of(&wanted(&[(place, word, &[keys])]));
            assert_eq!(problems.len(), 1);
            assert!(problems[0].starts_with(said), "{}", problems[0]);
            assert_eq!(map, KeyMap::default());
        }
        let (_, problems) = KeyMap::of(&wanted(&[("shelf", "round", &[])]));
        assert_eq!(problems, ["[shelf] 'round' wants at least one key"]);
    }

    #[test]
    fn what_is_written_out_is_read_back_as_it_was() {
        let (map, _) = KeyMap::of(&wanted(&[("shelf", "round", &["R"])]));
        let text = map.written();
        let wanted: Wanted = toml::from_str(&text).unwrap();
        let (again, problems) = KeyMap::of(&wanted);
        assert_eq!(problems, Vec::<String>::new());
        for scope in Scope::all() {
            for binding in table().filter(|b| b.scopes.contains(&scope)) {
                assert_eq!(map.keys(scope, binding), again.keys(scope, binding));
            }
        }
    }
}
