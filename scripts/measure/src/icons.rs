//! `cargo xtask icons`: the PNG icons, drawn by Chromium from the one SVG.

use anyhow::{Context, Result};
use bloomdue_tests::driver::{Browser, Screen};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::BufReader;
use std::path::Path;
use xtask::args::Args;
use xtask::system::root;

/// File, edge in pixels, and the part of the edge that the drawing takes in percent:
/// a mask may cut everything outside the inner four fifths.
const ICONS: &[(&str, u32, u32)] = &[
    ("icon-192.png", 192, 100),
    ("icon-512.png", 512, 100),
    ("icon-maskable-512.png", 512, 76),
    ("icon-apple-180.png", 180, 90),
];

/// Colours of an icon.
const N_COLOURS: usize = 32;
/// Colours nearer than this are one: the square of their distance.
const APART: u32 = 20 * 20;

/// `cargo xtask icons`.
///
/// # Errors
///
/// When Chromium is missing or a file cannot be written.
pub(crate) fn run(args: Args) -> Result<()> {
    args.end()?;
    let folder = root().join("web/static/icons");
    let svg = std::fs::read_to_string(folder.join("icon.svg")).context("icons/icon.svg")?;
    for (name, edge, percent) in ICONS {
        let profile = bloomdue_tests::driver::Scratch::new("icons")?;
        let screen = Screen::plain(*edge, *edge);
        let mut browser = Browser::launch(profile.path(), screen)?;
        let page = format!(
            "<!doctype html><style>html{{background:#fbf7ec}}body{{margin:0;display:grid;\
             place-items:center;height:100vh}}svg{{width:{percent}%;height:{percent}%}}</style>{svg}"
        );
        browser.show_html(&page)?;
        let file = folder.join(name);
        browser.screenshot(&file)?;
        flatten(&file).with_context(|| format!("{name} with few colours"))?;
        println!("{name}");
    }
    Ok(())
}

/// Writes a picture again with [`N_COLOURS`] colours: a flat drawing then takes a third of the bytes. The most frequent
/// colours stay exact; what lies between them along the edges goes to the nearest one.
fn flatten(file: &Path) -> Result<()> {
    let mut reader = png::Decoder::new(BufReader::new(File::open(file)?)).read_info()?;
    let n_bytes = reader.output_buffer_size().context("a picture too large")?;
    let mut bytes = vec![0; n_bytes];
    let info = reader.next_frame(&mut bytes)?;
    let n_channels = info.color_type.samples();
    anyhow::ensure!(n_channels >= 3, "the screenshot has no colours");
    let pixels: Vec<[u8; 3]> =
        bytes[..info.buffer_size()].chunks_exact(n_channels).map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
    let mut counts: BTreeMap<[u8; 3], usize> = BTreeMap::new();
    for pixel in &pixels {
        *counts.entry(*pixel).or_default() += 1;
    }
    let mut by_count: Vec<_> = counts.into_iter().collect();
    by_count.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    let mut palette: Vec<[u8; 3]> = Vec::new();
    for (colour, _) in by_count {
        if palette.len() < N_COLOURS && palette.iter().all(|known| apart(*known, colour) > APART) {
            palette.push(colour);
        }
    }
    let nearest = |pixel: &[u8; 3]| {
        let places = palette.iter().enumerate();
        let nearest = places.min_by_key(|(_, colour)| apart(**colour, *pixel));
        nearest.map_or(0, |(at, _)| u8::try_from(at).unwrap_or(0))
    };
    let indexed: Vec<u8> = pixels.iter().map(nearest).collect();
    let mut encoder = png::Encoder::new(File::create(file)?, info.width, info.height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::High);
    encoder.set_filter(png::Filter::NoFilter);
    encoder.write_header()?.write_image_data(&indexed)?;
    Ok(())
}

/// How far two colours are apart: the square of their distance.
fn apart(a: [u8; 3], b: [u8; 3]) -> u32 {
    a.iter().zip(b).map(|(a, b)| u32::from(a.abs_diff(b)).pow(2)).sum()
}
