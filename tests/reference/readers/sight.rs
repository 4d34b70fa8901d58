//! Measuring on photos: lengths on a card's plane, the place of rise in a neck, and how often the stated errors hold.

use bloomdue_core::picture::exif::Exposure;
use bloomdue_core::sight::{
    Estimate, NoNumber, Plane, Point, TAP_SD_PX, neck,
    shade::{self, Patch},
};
use serde_json::{Value, json};

use super::refused;

fn point(value: &Value) -> Point {
    let number = |at: usize| value[at].as_f64().unwrap_or(f64::NAN);
    Point::new(number(0), number(1))
}

fn points(value: &Value) -> Vec<Point> {
    value.as_array().into_iter().flatten().map(point).collect()
}

fn no_number(why: NoNumber) -> Value {
    refused(format!("{why:?}"))
}

fn on_card(scene: &Value, tap_sd_px: f64) -> Result<Estimate, NoNumber> {
    let corners = points(&scene["card_corners_px"]).try_into().map_err(|_| NoNumber::NoScale)?;
    let ends = points(&scene["points_px"]);
    let [from, to] = ends.as_slice() else {
        return Err(NoNumber::MarksTogether);
    };
    Plane::Card(corners).length_by(*from, *to, tap_sd_px)
}

/// One length. The generated scenes of this method have jitters below a pixel and a half.
pub(super) fn length(input: &Value, _: &Value) -> Value {
    match on_card(input, TAP_SD_PX) {
        Ok(length) => json!({ "length_mm": length.value }),
        Err(why) => no_number(why),
    }
}

/// How many of these errors hold the truth.
fn covered(found: &[(Estimate, f64)]) -> f64 {
    let held = found.iter().filter(|(estimate, truth)| (estimate.value - truth).abs() <= estimate.error);
    held.count() as f64 / found.len() as f64
}

/// Many lengths, and how many of them are within their error of the truth.
pub(super) fn lengths(input: &Value, _: &Value) -> Value {
    let tap_sd_px = input["tap_sd_px"].as_f64().unwrap_or(TAP_SD_PX);
    let mut found = Vec::new();
    for scene in input["scenes"].as_array().into_iter().flatten() {
        match on_card(scene, tap_sd_px) {
            Ok(length) => found.push((length, scene["true_length_mm"].as_f64().unwrap_or(f64::NAN))),
            Err(why) => return no_number(why),
        }
    }
    let lengths: Vec<f64> = found.iter().map(|(length, _)| length.value).collect();
    json!({ "lengths_mm": lengths, "covered_share": covered(&found) })
}

/// One place of rise with its ellipse.
pub(super) fn rise(input: &Value, _: &Value) -> Value {
    let outline = points(&input["outline_px"]);
    let index = neck::rise(&outline, point(&input["foot_px"]));
    match (neck::Ellipse::through(&outline), index) {
        (Ok(ellipse), Ok(index)) => json!({
            "center_px": [ellipse.center.x, ellipse.center.y],
            "semi_axes_px": [ellipse.semi_axes_px.0, ellipse.semi_axes_px.1],
            "rise_index": index.value,
        }),
        (Err(why), _) | (_, Err(why)) => no_number(why),
    }
}

/// Many places of rise, and how many are within their error of the truth.
pub(super) fn rises(input: &Value, _: &Value) -> Value {
    let tap_sd_px = input["tap_sd_px"].as_f64().unwrap_or(TAP_SD_PX);
    let mut found = Vec::new();
    for scene in input["scenes"].as_array().into_iter().flatten() {
        match neck::rise_by(&points(&scene["outline_px"]), point(&scene["foot_px"]), tap_sd_px) {
            Ok(index) => found.push((index, scene["true_rise_index"].as_f64().unwrap_or(f64::NAN))),
            Err(why) => return no_number(why),
        }
    }
    json!({ "covered_share": covered(&found) })
}

/// Shade from two exposures of one card.
pub(super) fn shade(input: &Value, _: &Value) -> Value {
    let patch = |name: &str| {
        let number = |field: &str| input[name][field].as_f64().unwrap_or(f64::NAN);
        let exposure = Exposure { f_number: number("f_number"), time_s: number("exposure_s"), iso: number("iso") };
        Patch { exposure, linear_mean: number("linear_mean"), clipped_share: 0.0 }
    };
    match shade::shade(&patch("open"), &patch("shaded")) {
        Ok(shade) => json!({
            "ev100_open": shade.ev100.0,
            "ev100_shaded": shade.ev100.1,
            "transmission": shade.transmission.1,
            "shade_percent": shade.percent().0,
        }),
        Err(why) => refused(format!("{why:?}")),
    }
}
