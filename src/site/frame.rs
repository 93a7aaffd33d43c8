//! What a frame is used for: the direction of north, on plans and in compass words; longitude and latitude, in files for others.

use super::document::Frame;

/// What is said of the frame: what its parts are used for.
pub(super) fn frame_note(frame: &Frame) -> Option<String> {
    let north = match frame.azimuth_deg {
        None => "North is up on plans and sheets, since frame.azimuth_deg is not given.".to_owned(),
        Some(turned) => format!(
            "Plans, sheets and directions take north from frame.azimuth_deg = {turned}: the y axis points {turned} degrees clockwise \
             from north."
        ),
    };
    let (lon, lat) = (frame.lon, frame.lat);
    Some(format!(
        "frame.lon = {lon} and frame.lat = {lat} place surveys and exports on Earth, and weigh nothing. {north}"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A frame that passes without a word, or north that is said to be up where the plan is turned, would show.
    #[test]
    fn what_is_used_and_what_is_not_is_said() {
        let said = |azimuth_deg| frame_note(&Frame { lon: 0.5, lat: -12.0, azimuth_deg }).unwrap_or_default();
        assert!(
            said(None).contains("lat = -12 place surveys and exports on Earth")
                && said(None).contains("North is up")
        );
        assert!(said(Some(30.0)).contains("frame.azimuth_deg = 30"));
    }
}
