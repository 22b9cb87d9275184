//! What a reading of one vessel asks of the store is what the whole household says of it.

use crate::kit::*;
use skep::domain::records::Dossier;
use skep::store::Store;
use skep::work;

#[test]
fn of_one_vessel_is_loaded_what_the_household_says_of_it() {
    let mut store = Store::in_memory().unwrap();
    work::demo::build(&mut store, now()).unwrap();
    let whole = store.household(now()).unwrap();
    let mut held = 0;
    for vessel in &whole.vessels {
        let about = store
            .household_about(&format!(" {} ", vessel.tag.to_lowercase()), now())
            .unwrap();
        // What a reading asks nothing of is left out.
        let asked = whole.in_vessel(vessel.id).map(|d| Dossier {
            steps: Vec::new(),
            lots: Vec::new(),
            place_readings: Vec::new(),
            ..d.clone()
        });
        assert_eq!(about.in_vessel(vessel.id), asked.as_ref());
        assert!(about.dossiers.len() <= 1);
        held += about.dossiers.len();
        let bare = |mut household: skep::domain::records::Household| {
            household.dossiers.clear();
            household
        };
        assert_eq!(bare(about), bare(whole.clone()));
    }
    assert!(held >= 3, "{held}");
    let unknown = store.household_about("J999", now()).unwrap();
    assert!(unknown.dossiers.is_empty());
}
