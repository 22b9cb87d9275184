//! Places, vessels, instruments.

use super::check::{self, refuse};
use super::{Done, Made, WorkError, done};
use crate::domain::deeds::Deed;
use crate::domain::records::{
    Event, EventId, EventKind, Instrument, InstrumentId, InstrumentKind, Place, PlaceId, Vessel,
    VesselId, VesselKind,
};
use crate::domain::units::{Celsius, GaugeBar, Grams, Litres, Moment};
use crate::engine::bottling::MOST_KEG_RATING;
use crate::store::{Reader, Standing, Writer};

/// More vessels than any closet holds; a runaway script stops here.
const MOST: usize = 2_000;

pub(super) fn write(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    match deed {
        Deed::AddPlace {
            name,
            dark,
            usual_temp,
        } => add_place(w, name, *dark, *usual_temp),
        Deed::AddVessel {
            tag,
            kind,
            capacity,
            place,
            tare,
        } => add_vessel(w, tag, *kind, *capacity, *place, *tare, now),
        Deed::PlaceSummer { place, warmest } => place_summer(w, *place, *warmest),
        Deed::KegRating { vessel, rating } => keg_rating(w, *vessel, *rating),
        Deed::EditVessel {
            vessel,
            tag,
            place,
            tare,
            clean,
            retired,
        } => {
            let wish = Wish {
                tag: tag.as_deref(),
                place: *place,
                tare: *tare,
                clean: *clean,
                retired: *retired,
            };
            edit_vessel(w, *vessel, &wish, now)
        }
        Deed::AddInstrument {
            name,
            kind,
            calibrated_at,
            offset,
            resolution,
            factor,
            preferred,
        } => add_instrument(
            w,
            &Instrument {
                id: InstrumentId(0),
                name: name.clone(),
                kind: *kind,
                calibrated_at: *calibrated_at,
                offset: *offset,
                resolution: *resolution,
                factor: *factor,
                preferred: *preferred,
            },
        ),
        _ => unreachable!("routed by the deed"),
    }
}

fn add_place(w: &mut Writer<'_>, name: &str, dark: bool, usual_temp: Option<Celsius>) -> Done {
    let name = check::name(name, "the name of a place")?;
    let places: Vec<Place> = w.read().all()?;
    if places.iter().any(|p| p.name.eq_ignore_ascii_case(&name)) {
        return refuse(format!(
            "there is a place called '{name}' already: give another name"
        ));
    }
    if places.len() >= MOST {
        return refuse(format!(
            "there are {MOST} places already: more are not accepted"
        ));
    }
    let id = PlaceId(w.add(&Place {
        id: PlaceId(0),
        name: name.clone(),
        dark,
        usual_temp,
        summer: None,
    })?);
    Ok(done(
        format!("place '{name}' added"),
        None,
        vec![Made::Place(id)],
    ))
}

fn add_vessel(
    w: &mut Writer<'_>,
    tag: &str,
    kind: VesselKind,
    capacity: Litres,
    place: PlaceId,
    tare: Option<Grams>,
    now: Moment,
) -> Done {
    let tag = check::tag(tag)?;
    let vessels: Vec<Vessel> = w.read().all()?;
    unused_tag(&vessels, &tag, None)?;
    if vessels.len() >= MOST {
        return refuse(format!(
            "there are {MOST} vessels already: more are not accepted"
        ));
    }
    if capacity.get() <= 0.0 {
        return refuse("a vessel that holds 0 L is not possible: give its brimful volume");
    }
    check::place(w.read(), place)?;
    let vessel = VesselId(w.add(&Vessel {
        id: VesselId(0),
        tag: tag.clone(),
        kind,
        capacity,
        tare,
        place,
        clean: true,
        retired: false,
        rated: None,
        note: String::new(),
    })?);
    stands(w, vessel, place, now)?;
    Ok(done(
        format!("{kind} {tag} added"),
        None,
        vec![Made::Vessel(vessel)],
    ))
}

fn place_summer(w: &mut Writer<'_>, id: PlaceId, warmest: Celsius) -> Done {
    let place = check::place(w.read(), id)?;
    // What the sums of gas in a closed bottle are published for.
    check::within(warmest.get(), 0.0, 40.0, "a warmest day in °C of")?;
    let said = format!("warmest day of {}: {:.1} °C", place.name, warmest.get());
    w.put(&Place {
        summer: Some(warmest),
        ..place
    })?;
    Ok(done(said, None, vec![]))
}

fn keg_rating(w: &mut Writer<'_>, id: VesselId, rating: GaugeBar) -> Done {
    let keg = check::vessel(w.read(), id)?;
    if keg.kind != VesselKind::Keg {
        return refuse(format!(
            "{} is a {}: only a keg has a working pressure",
            keg.tag, keg.kind
        ));
    }
    let most = MOST_KEG_RATING.get();
    check::within(rating.get(), 0.5, most, "a working pressure in bar of")?;
    let said = format!("{} is rated for {:.1} bar", keg.tag, rating.get());
    w.put(&Vessel {
        rated: Some(rating),
        ..keg
    })?;
    Ok(done(said, None, vec![]))
}

fn stands(
    w: &mut Writer<'_>,
    vessel: VesselId,
    place: PlaceId,
    from: Moment,
) -> Result<(), WorkError> {
    w.add(&Standing {
        id: 0,
        vessel,
        place,
        from,
    })?;
    Ok(())
}

fn unused_tag(vessels: &[Vessel], tag: &str, but: Option<VesselId>) -> Result<(), WorkError> {
    let taken = vessels
        .iter()
        .find(|v| Some(v.id) != but && v.tag.eq_ignore_ascii_case(tag));
    match taken {
        Some(v) if v.retired => refuse(format!(
            "the tag {} belonged to a vessel that is no longer used, and its history goes by it: give another tag",
            v.tag
        )),
        Some(v) => refuse(format!(
            "there is a vessel {} already: give another tag",
            v.tag
        )),
        None => Ok(()),
    }
}

struct Wish<'a> {
    tag: Option<&'a str>,
    place: Option<PlaceId>,
    tare: Option<Grams>,
    clean: Option<bool>,
    retired: Option<bool>,
}

fn edit_vessel(w: &mut Writer<'_>, id: VesselId, wish: &Wish<'_>, now: Moment) -> Done {
    let mut vessel = check::vessel(w.read(), id)?;
    let old = vessel.tag.clone();
    let mut news = Vec::new();
    if let Some(tag) = wish.tag {
        vessel.tag = check::tag(tag)?;
        unused_tag(&w.read().all::<Vessel>()?, &vessel.tag, Some(id))?;
        if vessel.tag != old {
            news.push(format!("now called {}", vessel.tag));
        }
    }
    if let Some(place) = wish.place.filter(|p| *p != vessel.place) {
        news.push(carry(w, &mut vessel, place, now)?);
    }
    if let Some(tare) = wish.tare {
        vessel.tare = Some(tare);
        news.push(format!("weighs {} g empty", tare.get()));
    }
    if let Some(clean) = wish.clean {
        vessel.clean = clean;
        news.push(if clean { "clean" } else { "to be cleaned" }.to_owned());
    }
    if let Some(retired) = wish.retired {
        retire(w.read(), &mut vessel, retired)?;
        news.push(
            if retired {
                "no longer used"
            } else {
                "in use again"
            }
            .to_owned(),
        );
    }
    if news.is_empty() {
        return refuse(format!("nothing to change about {old}"));
    }
    w.put(&vessel)?;
    Ok(done(format!("{old}: {}", news.join(", ")), None, vec![]))
}

/// A vessel goes to another place; what lies in it goes along.
fn carry(
    w: &mut Writer<'_>,
    vessel: &mut Vessel,
    to: PlaceId,
    now: Moment,
) -> Result<String, WorkError> {
    let from = check::place(w.read(), vessel.place)?.name;
    let there = check::place(w.read(), to)?.name;
    vessel.place = to;
    stands(w, vessel.id, to, now)?;
    if let Some(stay) = w.read().open_stay_in(vessel.id)? {
        w.add(&Event {
            id: EventId(0),
            batch: stay.batch,
            vessel: Some(vessel.id),
            step: None,
            at: now,
            kind: EventKind::Carry,
            substance: String::new(),
            mass: None,
            volume: None,
            gravity: None,
            alcohol: None,
            note: format!("from {from} to {there}"),
        })?;
    }
    Ok(format!("carried from {from} to {there}"))
}

fn retire(r: Reader<'_>, vessel: &mut Vessel, retired: bool) -> Result<(), WorkError> {
    if retired && let Some(stay) = r.open_stay_in(vessel.id)? {
        let holds = check::batch(r, stay.batch)?.name;
        return refuse(format!(
            "{} holds '{holds}': empty it before taking it out of use",
            vessel.tag
        ));
    }
    vessel.retired = retired;
    Ok(())
}

fn add_instrument(w: &mut Writer<'_>, new: &Instrument) -> Done {
    let name = check::name(&new.name, "the name of an instrument")?;
    let all: Vec<Instrument> = w.read().all()?;
    if all.iter().any(|i| i.name.eq_ignore_ascii_case(&name)) {
        return refuse(format!(
            "there is an instrument called '{name}' already: give another name"
        ));
    }
    if all.len() >= MOST {
        return refuse(format!(
            "there are {MOST} instruments already: more are not accepted"
        ));
    }
    check::within(new.offset, -1e6, 1e6, "an offset of")?;
    check::within(new.resolution, 1e-6, 1e6, "a smallest step of")?;
    if new.kind == InstrumentKind::Refractometer {
        // Published factors lie near 1.04; beyond this it is a slip.
        check::within(new.factor, 0.5, 2.0, "a correction factor of")?;
    } else {
        check::within(new.factor, 1e-3, 1e3, "a correction factor of")?;
    }
    if new.preferred {
        for mut other in all
            .into_iter()
            .filter(|i| i.kind == new.kind && i.preferred)
        {
            other.preferred = false;
            w.put(&other)?;
        }
    }
    let id = w.add(&Instrument {
        name: name.clone(),
        ..new.clone()
    })?;
    Ok(done(
        format!("{} '{name}' added", new.kind),
        None,
        vec![Made::Instrument(InstrumentId(id))],
    ))
}
