//! What leaves the nursery by hand: the page of a try to hand round, and the season report on paper.

use crate::{Check, Device, Ground, Host};
use anyhow::{Context, Result, ensure};
use bloomdue_tests::driver::{Browser, Scratch, Screen};
use serde_json::json;
use std::path::Path;

/// Every check of this file.
pub(crate) const CHECKS: &[Check] = checks![
    a_shown_page_names_nobody_and_no_place_unless_chosen,
    a_picture_that_gets_too_long_is_refused_with_a_sentence,
    the_season_report_prints_each_try_on_a_page_of_its_own,
];

/// Names of the demo that no page may hold unless they were chosen.
const NAMES: &[&str] = &["Quarry Steps", "Cellar", "Bench 1", "Bench 2", "RT", "MB", "JO"];

/// Opens the demo and answers its trial of weeks of rest, which has several runs, and these runs, as addresses.
fn of_demo(browser: &mut Browser, host: &Host) -> Result<(String, Vec<String>)> {
    crate::slice::demo(browser, host.server.address())?;
    go(browser, "#/trials")?;
    let trial =
        "[...document.querySelectorAll('a[href^=\"#/trial/\"]')].find((a) => a.textContent.includes('weeks of rest'))";
    browser.wait_until(trial)?;
    let trial = browser.eval(&format!("{trial}.getAttribute('href')"))?;
    let trial = trial.as_str().context("a trial")?.to_owned();
    go(browser, &trial)?;
    let runs = "[...document.querySelectorAll('a[href^=\"#/run/\"]')].map((a) => a.getAttribute('href'))";
    browser.wait_until(&format!("{runs}.length > 1"))?;
    let runs = browser.eval(runs)?;
    let runs = runs.as_array().context("runs")?.iter();
    let runs = runs.filter_map(|run| run.as_str().map(str::to_owned));
    Ok((trial, runs.collect()))
}

fn go(browser: &mut Browser, address: &str) -> Result<()> {
    browser.eval(&format!("location.hash = {address:?}"))?;
    Ok(())
}

/// Makes the file, saves it, and answers its bytes. It is taken away, because the next one may have the same name.
fn made(browser: &mut Browser, folder: &Path) -> Result<Vec<u8>> {
    browser.tap("Make it")?;
    browser.tap("Save it on this device")?;
    let file = browser.downloaded(folder, &[])?;
    let bytes = std::fs::read(&file)?;
    std::fs::remove_file(&file)?;
    Ok(bytes)
}

/// Opens the choices of a part of how the page is made, from 1.
fn part(browser: &mut Browser, part: u32) -> Result<()> {
    browser.tap(&format!("css:.sentence .ed:nth-of-type({part})"))
}

const FORM: u32 = 1;
const NAMED: u32 = 3;

fn a_shown_page_names_nobody_and_no_place_unless_chosen(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let folder = Scratch::new("shown")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.download_into(folder.path())?;
    let (_, runs) = of_demo(browser, &host)?;
    // The latest stands first; the first one has its photos.
    let run = runs.last().context("a run")?;
    go(browser, &format!("{run}/show"))?;
    browser.see("Named on it")?;
    browser.inspect("show it", &ground.axe)?;
    browser.check_no_sideways("show it")?;
    part(browser, FORM)?;
    browser.tap("a page for any browser")?;
    let plain = String::from_utf8(made(browser, folder.path())?)?;
    for name in NAMES {
        // Base64 holds any two letters, so only what is read counts.
        let words: String = plain.split("src=\"").map(after_address).collect();
        ensure!(!words.contains(name), "the page names {name}");
    }
    ensure!(plain.contains("What is not known"), "nothing is left open");
    let n_photos = plain.matches("src=\"data:image/jpeg;base64,").count();
    ensure!(n_photos >= 2, "the page has {n_photos} photos");
    ensure!(!plain.contains("http:") && !plain.contains("https:"), "the page asks for something");
    part(browser, NAMED)?;
    browser.tap("Where the groups stood, and what the due day is for")?;
    browser.tap("Who looked")?;
    let full = String::from_utf8(made(browser, folder.path())?)?;
    ensure!(full.contains("Cellar") && full.contains("RT"), "what was chosen is not there");
    part(browser, FORM)?;
    browser.tap("css:.asked .chip")?;
    let picture = made(browser, folder.path())?;
    ensure!(picture.starts_with(&[0xff, 0xd8, 0xff]), "the picture is no JPEG");
    ensure!(picture.len() > 50_000, "the picture has {} bytes", picture.len());
    browser.finish()
}

fn a_picture_that_gets_too_long_is_refused_with_a_sentence(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let folder = Scratch::new("too-long")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    browser.download_into(folder.path())?;
    let (_, runs) = of_demo(browser, &host)?;
    // The first try of the first question, which has the most to say; the newest stands first.
    let run = runs.get(2).context("a run")?;
    go(browser, &format!("{run}/show"))?;
    browser.see("Named on it")?;
    part(browser, NAMED)?;
    browser.tap("Where the groups stood, and what the due day is for")?;
    // Every word takes a line of its own.
    browser.eval(
        "void (window.measure = CanvasRenderingContext2D.prototype.measureText, \
         CanvasRenderingContext2D.prototype.measureText = () => ({ width: 1e6 }))",
    )?;
    browser.tap("Make it")?;
    browser.see("This page is too long for one picture")?;
    browser.see("make it a page to open in a browser")?;
    // As such a page it can be made; and the picture, too, once it is short enough.
    part(browser, FORM)?;
    browser.tap("a page for any browser")?;
    ensure!(made(browser, folder.path())?.starts_with(b"<!doctype html>"), "no page was made");
    browser.eval("void (CanvasRenderingContext2D.prototype.measureText = window.measure)")?;
    browser.tap("css:.asked .chip")?;
    ensure!(made(browser, folder.path())?.starts_with(&[0xff, 0xd8, 0xff]), "the picture is no JPEG");
    browser.finish()
}

/// What follows the address that a text begins with.
fn after_address(part: &str) -> &str {
    match part.strip_prefix("data:") {
        Some(data) => data.split_once('"').map_or("", |(_, rest)| rest),
        None => part,
    }
}

fn the_season_report_prints_each_try_on_a_page_of_its_own(ground: &Ground) -> Result<()> {
    let host = ground.host("")?;
    let mut device = Device::new(Screen::phone())?;
    let browser = &mut device.browser;
    let (trial, runs) = of_demo(browser, &host)?;
    go(browser, &format!("{trial}/report"))?;
    browser.see("What is not known")?;
    let pages = "document.querySelectorAll('.report-page .plots').length";
    browser.wait_until(&format!("{pages} >= {}", runs.len()))?;
    browser.inspect("season report", &ground.axe)?;
    browser.check_no_sideways("season report")?;
    browser.call("Emulation.setEmulatedMedia", json!({"media": "print"}))?;
    let on_paper = browser.eval(
        "({ breaks: [...document.querySelectorAll('.report-page + .report-page')]
                .every((page) => getComputedStyle(page).breakBefore === 'page'),
            buttons: [...document.querySelectorAll('.report .btn, .foot')]
                .filter((one) => getComputedStyle(one).display !== 'none').length,
            ink: getComputedStyle(document.querySelector('.report-page h1')).color,
            pages: document.querySelectorAll('.report-page').length })",
    )?;
    let wanted = json!({
        "breaks": true, "buttons": 0, "ink": "rgb(0, 0, 0)", "pages": runs.len() + 1,
    });
    ensure!(on_paper == wanted, "on paper: {on_paper}");
    browser.call("Emulation.setEmulatedMedia", json!({"media": ""}))?;
    browser.finish()
}
