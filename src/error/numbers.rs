//! Numbers as sentences write them.

/// A whole number with commas.
pub(super) fn thousands(number: f64) -> String {
    let digits = format!("{number:.0}");
    let places = digits.chars().enumerate();
    let comma = |place: usize| place > 0 && (digits.len() - place).is_multiple_of(3);
    places.flat_map(|(place, digit)| comma(place).then_some(',').into_iter().chain([digit])).collect()
}
