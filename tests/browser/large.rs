//! A try of hundreds of bulbs: its numbers take long to count, and the page does not wait for them.

use std::fmt::Write as _;
use std::time::Duration;

use crate::slice::{give, go};
use crate::{Check, Device, Ground};
use anyhow::{Result, ensure};
use bloomdue_core::handover::json::compose;
use bloomdue_core::testing::{World, day};
use bloomdue_tests::driver::Screen;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![a_try_of_hundreds_is_worked_out_beside_the_page];

/// Bulbs a group.
const N: usize = 180;

/// The file of a nursery whose one try is over: 120 of 180 in time against 90 of 180.
fn nursery() -> serde_json::Value {
    let ids = |from: usize| -> Vec<String> {
        let all = from + 1..=from + N;
        all.map(|at| format!("b_{at}")).collect()
    };
    let (a, b) = (ids(0), ids(N));
    let start = -300;
    let (first, last) = (start + 20, start + 40);
    let mut looks = String::new();
    for (group, in_time) in [(&a, 120), (&b, 90)] {
        for (at, bulb) in group.iter().enumerate() {
            let _ = writeln!(looks, "{first} mia look {bulb} clear");
            let shows =
                if at < in_time { format!("sh_{}/scape/scape-in-sight", &bulb[2..]) } else { "clear".to_owned() };
            let _ = writeln!(looks, "{last} mia look {bulb} {shows}");
        }
    }
    let (a, b) = (a.join(","), b.join(","));
    let world = World::of(&format!(
        "{before} mia lot lo_1 Red
         {before} mia question tr_1 gr_a,gr_b
         {before} mia group gr_a tr_1 Long control
         {before} mia group gr_b tr_1 Short
         {before} mia bulb {a},{b} lo_1
         {ready} mia json ru_1 run {{\"trial\":\"tr_1\",\"ordinal\":1,\"start\":\"{on}\",\"look_interval_days\":20}}
         {ready} mia rule ru_1 by scape-in-sight
         {ready} mia due ru_1 {due}
         {ready} mia allot ru_1 drawn gr_a={a} gr_b={b}
         {start} mia cycle-began {a},{b}
         {start} mia run-started ru_1
         {looks}
         {closed} mia run-closed ru_1",
        before = start - 9,
        ready = start - 2,
        on = day(start),
        due = start + 40,
        closed = start + 41,
    ));
    compose(&world.ledger, "Upper Yard", "2026-08-01T10:00", []).into()
}

fn a_try_of_hundreds_is_worked_out_beside_the_page(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.open(host.server.address())?;
    browser.tap("Join one: take in a colleague's file")?;
    give(browser, &nursery())?;
    browser.see("Upper Yard")?;
    browser.tap("css:.btn.main")?;
    browser.see("records taken in")?;
    go(browser, "/run/ru_1/result")?;
    browser.tap("How this was worked out")?;
    browser.see("Barnard's test (1945; Suissa & Shuster 1985)")?;
    browser.tap("How many bulbs it would take")?;
    // A second of work on a quick machine, beside the page.
    let worked_out = "document.body.innerText.includes('One more try like this one, both taken together')";
    browser.wait_within(worked_out, Duration::from_secs(60))?;
    let threads = "performance.getEntriesByType('resource').filter((one) => /work-/.test(one.name)).length";
    ensure!(browser.eval(threads)? == 1, "no thread was started");
    browser.inspect("a try of hundreds", &ground.axe)?;
    browser.check_no_sideways("a try of hundreds")?;
    browser.finish()
}
