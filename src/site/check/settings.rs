//! Settings: known, within their ranges, and not at odds with each other.

use super::found::Found;
use crate::settings::{OutOfRange, Settings};
use crate::site::document::Document;
use crate::site::fault::FaultKind;

pub(super) fn check(document: &Document, found: &mut Found) {
    let mut settings = Settings::default();
    let mut sound = true;
    for (name, &value) in &document.settings {
        let place = format!("settings.{name}");
        match Settings::FIELDS.iter().find(|field| field.name == name) {
            None => found.add(place, FaultKind::UnknownSetting { name: name.clone() }),
            Some(_) if !value.is_finite() => sound = false,
            Some(field) if !(field.least..=field.greatest).contains(&value) => {
                let (name, least, greatest) = (field.name, field.least, field.greatest);
                found.add(place, FaultKind::Setting(OutOfRange { name, value, least, greatest }));
                sound = false;
            }
            Some(field) => settings.set(field.name, value),
        }
    }
    if !sound {
        return; // what a wrong value fights with says nothing
    }
    for sum in settings.sums_above_one() {
        found.add("settings", FaultKind::Setting(sum));
    }
    for fight in settings.fights() {
        found.add(format!("settings.{}", fight.least), FaultKind::SettingsFight(fight));
    }
}
