//! One body of every kind, as it stands in files.

use bloomdue_core::ledger::{
    body::{ActKind, Body},
    entry::Draft,
};

use crate::make::{happened, id};

/// Kind, slot, what it is about, body.
const BODIES: &[(&str, &str, &str, &str)] = &[
    ("nursery", "", "l_1", r#"{"latitude_decideg":-338,"name":"Vale of Leaves"}"#),
    ("person", "", "p_1", r#"{"initials":"MK","name":"Mia"}"#),
    (
        "place",
        "",
        "pl_1",
        r#"{"name":"North house","kind":"shade house","covers":[{"what":"cloth","blocks_percent":50}]}"#,
    ),
    ("bench-order", "", "pl_1", r#"{"bulbs":["b_2","b_1"]}"#),
    (
        "lot",
        "",
        "lo_1",
        r#"{"name":"Crate 7","cultivar":"Snow","supplier":"Dune","grade":"26/28","received":"2027-01-05","apart_until":"2027-02-05"}"#,
    ),
    ("bulb", "", "b_1", r#"{"lot":"lo_1"}"#),
    ("bulb-name", "tag", "b_1", r#"{"name":"19GRYN"}"#),
    ("container", "", "co_1", r#"{"name":"Trough 2","kind":"trough","inner_width_mm":180,"inner_height_mm":200}"#),
    (
        "question",
        "",
        "tr_1",
        r#"{"text":"Longer or shorter rest?","ready":"rest","factors":[{"name":"weeks of rest","unit":"weeks","applied_to":"bulb"}],"groups":["gr_1","gr_2"]}"#,
    ),
    (
        "treatment",
        "",
        "gr_1",
        r#"{"trial":"tr_1","name":"8 weeks","levels":[{"factor":"weeks of rest","text":"8","value_milli":8000}],"control":true}"#,
    ),
    ("run", "", "ru_1", r#"{"trial":"tr_1","ordinal":1,"start":"2027-03-01","look_interval_days":4}"#),
    (
        "success-rule",
        "",
        "ru_1",
        r#"{"goal":"by","stage":"first flower open","unit":"bulb","died":"not in time","test":"boschloo"}"#,
    ),
    ("due-window", "", "ru_1", r#"{"name":"Mother's day","from":"2027-05-01","to":"2027-05-09"}"#),
    (
        "allotment",
        "",
        "ru_1",
        r#"{"unit":"bulb","method":"blocks/1","seed":"00ff","groups":["gr_1","gr_2"],"units":["b_1","b_2"],"arms":[0,1],"blocks":[0,0],"sizes_mm":[280,275]}"#,
    ),
    ("tallies", "", "ru_1", r#"{"groups":[{"group":"gr_1","n_in_time":5,"n_not":3,"n_died":1,"n_left":0}]}"#),
    (
        "care-plan",
        "feed",
        "gr_1",
        r#"{"doing":"act","act":"fed","words":"thinly","from":"stage","stage":"over","after_days":7,"every_days":14,"tolerance_days":3,"during":"growth","person":"p_1","grade":"common practice","source":"our own"}"#,
    ),
    (
        "plan",
        "",
        "fo_1",
        r#"{"name":"Lantern fair","from":"2027-10-01","to":"2027-10-09","stage":"fit to sell","wanted":1,"sure_permille":900,"rest_weeks":8,"way":"cool","treatment":"weeks of rest: 8","lot":"lo_1","batches":[{"bulbs":["b_1","b_2"],"stop_water":"2027-05-10","lay_to_rest":"2027-05-31","rest_end":"2027-07-26","first_look":"2027-08-14"}]}"#,
    ),
    (
        "look",
        "",
        "b_1",
        r#"{"neck":"shoots","leaves":"count","n_leaves":3,"shoots":[{"id":"sh_1","ordinal":1,"side":"left","kind":"unknown","stage":"shoot","height_mm":12}],"way":"each","walk":"pl_1"}"#,
    ),
    ("sweep", "", "b_2", r#"{"place":"pl_1"}"#),
    ("inspection", "", "b_1", r#"{"findings":["firm"],"watch":true,"note":"near the drip"}"#),
    ("measure", "", "b_1", r#"{"what":"height","mm":125,"at":"neck"}"#),
    ("count", "", "b_1", r#"{"what":"leaves","n":4}"#),
    ("light", "", "pl_1", r#"{"ppfd_umol":220,"lux":12000}"#),
    ("climate", "", "pl_1", r#"{"temperature_dc":185,"humidity_percent":64}"#),
    (
        "call",
        "",
        "b_1",
        r#"{"shoot":"sh_1","answers":[{"question":"place","answer":"beside"}],"scape_permille":640,"method":"key/1","again":"2027-03-20"}"#,
    ),
    (
        "shown",
        "",
        "b_1",
        r#"{"what":"standing","method":"standing/1","digest":"00","numbers":{"in_time_permille":500}}"#,
    ),
    ("note", "", "b_1", r#"{"text":"leaves \"yellow\"\nat the tips, 5 °C"}"#),
    ("offset-of", "", "b_2", r#"{"to":"b_1"}"#),
    ("same-as", "", "b_2", r#"{"to":"b_3","note":"found the label"}"#),
    ("same-act", "", "b_1", r#"{"entry":"eazvjfdqmewfa53xrjoras3wa7refrnzkvd4ncgrlwetvvm5mxfvq"}"#),
    ("join", "", "l_1", r#"{"to":"l_2"}"#),
    ("proof", "", "b_1", r#"{"shoot":"sh_1","kind":"scape"}"#),
    ("take-back", "", "b_1", r#"{"why":"wrong bulb"}"#),
];

/// A photo's body, with the hashes of the bytes of [`PHOTO`] and [`THUMB`].
const PHOTO_BODY: &str = r#"{"hash":"PHOTO","thumb":"THUMB","media":"image/svg+xml","n_bytes":71,"width_px":1600,"height_px":1200,"drawn":true}"#;

/// Stands for a photo.
pub(crate) const PHOTO: &[u8] = br#"<svg xmlns="http://www.w3.org/2000/svg"><circle r="9"/><!-- 1 --></svg>"#;

/// Stands for its small picture.
pub(crate) const THUMB: &[u8] = br#"<svg xmlns="http://www.w3.org/2000/svg"><circle r="3"/></svg>"#;

/// A draft of every kind. Each body has to be known, and to be written as it was read.
pub(crate) fn drafts() -> Vec<Draft> {
    use bloomdue_core::ledger::id::AttachmentHash;
    let photo = PHOTO_BODY
        .replace("PHOTO", &AttachmentHash::of(PHOTO).to_string())
        .replace("THUMB", &AttachmentHash::of(THUMB).to_string());
    let acts = ActKind::ALL.iter().enumerate().map(|(n, kind)| {
        let body = match n % 3 {
            0 => "{}",
            1 => r#"{"place":"pl_1","from":"North house"}"#,
            _ => r#"{"container":"co_1","position":2,"with":"pine bark","note":"by hand"}"#,
        };
        (kind.word(), "", "b_1", body)
    });
    let all = BODIES.iter().copied().chain([("photo", "", "b_1", photo.as_str())]);
    all.chain(acts)
        .map(|(kind, slot, about, json)| {
            let body = Body::read(kind, 1, json);
            assert_ne!(body, Body::Unknown, "{kind} {json}");
            let written = body.to_canonical().unwrap();
            let written: serde_json::Value = serde_json::from_str(&written).unwrap();
            let read: serde_json::Value = serde_json::from_str(json).unwrap();
            assert_eq!(written, read, "{kind}");
            let mut draft = Draft::new(vec![id(about)], happened(), body);
            draft.slot = slot.into();
            draft
        })
        .collect()
}

#[test]
fn there_is_a_body_of_every_kind() {
    let kinds: std::collections::BTreeSet<_> = drafts().iter().map(|d| d.body.kind()).collect();
    // 34 kinds with bodies of their own, as body.rs lists them, and every act.
    assert_eq!(kinds.len(), 34 + ActKind::ALL.len());
}
