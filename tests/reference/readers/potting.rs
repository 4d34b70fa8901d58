//! Volumes of containers and of the buried part of a bulb.

use bloomdue_core::potting::shape::{Inside, buried_ml};
use serde_json::{Value, json};

use super::refused;

/// One container up to the surface of its mix, or one bulb; litres.
pub(super) fn volumes(input: &Value, _: &Value) -> Value {
    let mm = |name: &str| input[name].as_f64().unwrap_or(f64::NAN);
    let height_mm = mm("fill_height_mm");
    let inside = match input["shape"].as_str() {
        Some("round") => Inside::Round { rim_mm: mm("top_diameter_mm"), base_mm: mm("bottom_diameter_mm"), height_mm },
        Some("trough") => Inside::Rectangular {
            rim_mm: (mm("top_length_mm"), mm("top_width_mm")),
            base_mm: (mm("bottom_length_mm"), mm("bottom_width_mm")),
            height_mm,
        },
        _ => {
            let buried = 1.0 - mm("share_above");
            return json!({ "displaced_l": buried_ml(mm("circumference_mm"), buried) / 1000.0 });
        }
    };
    match inside.up_to(0.0) {
        Ok(up_to) => json!({ "volume_l": up_to.volume_ml() / 1000.0 }),
        Err(why) => refused(format!("{why:?}")),
    }
}
