//! One page to hand round, as pieces: shown on the screen, drawn as a picture, or written as a file for any browser.

use bloomdue_core::ledger::body::Photo;
use bloomdue_words::plot::WIDTH;
use bloomdue_words::plot::share::{self, Line};
use bloomdue_words::told::NotMade;
use leptos::prelude::*;
use web_sys::Blob;

use crate::app::App;
use crate::device::draw::{self, Image, Page, Style};
use crate::parts::photos::Picture;
use crate::parts::plots::share::SharePlot;

/// A part of the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Piece {
    /// Its heading.
    Title(String),
    /// The one sentence.
    Say(String),
    /// A heading within.
    Head(String),
    /// A paragraph.
    Text(String),
    /// A second line.
    Small(String),
    /// A list.
    List(Vec<String>),
    /// A table: what its columns are, then its rows, the first cell being their head.
    Table(Vec<String>, Vec<Vec<String>>),
    /// Shares with their intervals, a line a group.
    Shares(Vec<Line>),
    /// Photos, a column a group.
    Photos(Vec<Column>),
}

/// The photos of a group.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Column {
    /// The group's name.
    pub(crate) name: String,
    /// Its photos with their words, top to bottom.
    pub(crate) photos: Vec<(Photo, String)>,
}

/// Columns abreast; more go below.
const ABREAST: usize = 3;
/// The longer edge of a photo within a file.
const FILE_PHOTO_PX: f64 = 800.0;

/// The page as the screen shows it.
#[component]
pub(crate) fn Leaflet(app: App, pieces: Vec<Piece>) -> impl IntoView {
    let pieces: Vec<_> = pieces.into_iter().map(|piece| shown(app, piece)).collect();
    view! { <article class="leaflet">{pieces}</article> }
}

fn shown(app: App, piece: Piece) -> AnyView {
    match piece {
        Piece::Title(words) => view! { <h2 class="leaflet-title">{words}</h2> }.into_any(),
        Piece::Say(words) => view! { <p class="say">{words}</p> }.into_any(),
        Piece::Head(words) => view! { <h3>{words}</h3> }.into_any(),
        Piece::Text(words) => view! { <p>{words}</p> }.into_any(),
        Piece::Small(words) => view! { <p class="small">{words}</p> }.into_any(),
        Piece::List(lines) => {
            let lines: Vec<_> = lines.into_iter().map(|line| view! { <li>{line}</li> }).collect();
            view! { <ul>{lines}</ul> }.into_any()
        }
        Piece::Table(heads, rows) => table(heads, rows),
        Piece::Shares(lines) => view! { <SharePlot lines=lines /> }.into_any(),
        Piece::Photos(columns) => {
            let columns: Vec<_> = columns
                .into_iter()
                .map(|column| {
                    let photos = column.photos.into_iter().map(|(photo, words)| {
                        let (hash, small) = match photo.thumb {
                            Some(thumb) => (thumb, true),
                            None => (photo.hash, false),
                        };
                        view! { <Picture app=app hash=hash small=small media=photo.media words=words /> }
                    });
                    let photos: Vec<_> = photos.collect();
                    view! { <div><b>{column.name}</b> {photos}</div> }
                })
                .collect();
            view! { <div class="leaflet-photos">{columns}</div> }.into_any()
        }
    }
}

fn table(heads: Vec<String>, rows: Vec<Vec<String>>) -> AnyView {
    let heads: Vec<_> = heads
        .into_iter()
        .enumerate()
        .map(|(at, words)| view! { <th scope="col" class=(at > 0).then_some("num")>{words}</th> })
        .collect();
    let rows: Vec<_> = rows
        .into_iter()
        .map(|cells| {
            let mut cells = cells.into_iter();
            let head = cells.next().unwrap_or_default();
            let cells: Vec<_> = cells.map(|cell| view! { <td class="num">{cell}</td> }).collect();
            view! { <tr><th scope="row">{head}</th>{cells}</tr> }
        })
        .collect();
    view! { <table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table> }.into_any()
}

/// The page as a picture.
///
/// # Errors
/// When a photo cannot be read, it gets too long, or there is no memory.
pub(crate) async fn as_picture(app: App, pieces: &[Piece]) -> Result<Blob, NotMade> {
    let images = images(app, pieces).await?;
    let drawn = draw::page(|page| {
        let mut images = images.iter();
        for piece in pieces {
            draw_piece(page, piece, &mut images);
        }
    })
    .await;
    Ok(drawn?)
}

/// Every photo of the page in order; nothing for one that is not kept here.
async fn images(app: App, pieces: &[Piece]) -> Result<Vec<Option<Image>>, NotMade> {
    let Some(store) = app.store() else {
        return Ok(Vec::new());
    };
    let mut images = Vec::new();
    for (photo, _) in photos(pieces) {
        let address = store.attachment_blob_url(photo.hash, &photo.media).await?;
        images.push(match address {
            Some(address) => Some(Image::read(&address).await?),
            None => None,
        });
    }
    Ok(images)
}

fn photos(pieces: &[Piece]) -> impl Iterator<Item = &(Photo, String)> {
    let columns = pieces.iter().flat_map(|piece| match piece {
        Piece::Photos(columns) => columns.as_slice(),
        _ => &[],
    });
    columns.flat_map(|column| &column.photos)
}

fn draw_piece<'a>(page: &mut Page, piece: &Piece, images: &mut impl Iterator<Item = &'a Option<Image>>) {
    match piece {
        Piece::Title(words) => {
            page.words(words, Style::Title);
            page.rule();
        }
        Piece::Say(words) => page.words(words, Style::Say),
        Piece::Head(words) => {
            page.gap(26.0);
            page.words(words, Style::Head);
        }
        Piece::Text(words) => page.words(words, Style::Text),
        Piece::Small(words) => page.words(words, Style::Small),
        Piece::List(lines) => {
            for line in lines {
                page.words(&format!("· {line}"), Style::Text);
            }
        }
        Piece::Table(heads, rows) => {
            let share = 0.6 / heads.len().saturating_sub(1).max(1) as f64;
            let cells = |row: &[String]| -> Vec<(String, f64)> {
                let shares = std::iter::once(0.4).chain(std::iter::repeat(share));
                row.iter().cloned().zip(shares).collect()
            };
            page.columns(&cells(heads), Style::Small);
            for row in rows {
                page.columns(&cells(row), Style::Text);
            }
        }
        Piece::Shares(lines) => {
            for line in lines {
                page.words(&line.name_and_share(), Style::Text);
                page.outlines(&line.paths(), (WIDTH, share::HEIGHT));
            }
            page.along(&share::axis_words(), WIDTH, Style::Small);
        }
        Piece::Photos(columns) => {
            let with_images: Vec<(&Column, Vec<Option<&Image>>)> = columns
                .iter()
                .map(|column| {
                    let taken = images.by_ref().take(column.photos.len());
                    (column, taken.map(Option::as_ref).collect())
                })
                .collect();
            for abreast in with_images.chunks(ABREAST) {
                draw_photos(page, abreast);
            }
        }
    }
}

fn draw_photos(page: &mut Page, columns: &[(&Column, Vec<Option<&Image>>)]) {
    // Two columns at least, so that a single group does not fill the page.
    let n = columns.len().max(2);
    let share = 1.0 / n as f64;
    let names: Vec<(String, f64)> = columns.iter().map(|(column, _)| (column.name.clone(), share)).collect();
    page.gap(14.0);
    page.columns(&names, Style::Head);
    let deepest = columns.iter().map(|(_, images)| images.len()).max();
    for at in 0..deepest.unwrap_or(0) {
        let mut row: Vec<Option<&Image>> =
            columns.iter().map(|(_, images)| images.get(at).copied().flatten()).collect();
        row.resize(n, None);
        page.pictures(&row);
        let words: Vec<(String, f64)> = columns
            .iter()
            .map(|(column, _)| {
                let words = column.photos.get(at).map(|(_, words)| words.clone());
                (words.unwrap_or_default(), share)
            })
            .collect();
        page.columns(&words, Style::Small);
    }
}

/// How a file for any browser looks: it carries its own style and pictures, and asks for nothing.
const FILE_STYLE: &str = "body{font:16px/1.45 system-ui,sans-serif;color:#1d221f;background:#fff;max-width:44rem;\
margin:0 auto;padding:16px}h1,h2,.say,.g b{font-family:Georgia,serif;line-height:1.2}h1{border-bottom:3px double #777;\
padding-bottom:8px}.say{font-size:1.3rem;font-weight:600}.small,figcaption{font-size:.85rem;color:#434a42}\
.g{display:grid;grid-template-columns:repeat(auto-fit,minmax(12rem,1fr));gap:16px}figure{margin:8px 0}\
img{max-width:100%;height:auto}td,th{padding:3px 12px 3px 0;text-align:right}th:first-child{text-align:left}\
.s p{margin:8px 0 0}svg{display:block;width:100%;max-width:25rem;overflow:visible;font-size:12px}\
.ln{fill:none;stroke:#1d221f;stroke-width:1.6}.thick{stroke-width:2.4}.broken{stroke-dasharray:5 4}\
.tick{stroke:#777;stroke-width:1.2}.dot-full{fill:#1d221f}.fl{fill:#fff}";

/// The page as a file that any browser opens.
///
/// # Errors
/// As [`as_picture`].
pub(crate) async fn as_file(app: App, title: &str, pieces: &[Piece]) -> Result<String, NotMade> {
    let images = images(app, pieces).await?;
    let mut addresses = Vec::new();
    for image in &images {
        addresses.push(match image {
            Some(image) => Some(image.data_address(FILE_PHOTO_PX)?),
            None => None,
        });
    }
    let mut addresses = addresses.into_iter();
    let mut body = String::new();
    for piece in pieces {
        body.push_str(&markup(piece, &mut addresses));
    }
    Ok(format!(
        "<!doctype html>\n<html lang=\"en\"><meta charset=\"utf-8\">\
        <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\">\
        <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>{}</title>\
        <style>{FILE_STYLE}</style><body>{body}</body></html>\n",
        plain(title)
    ))
}

fn markup(piece: &Piece, addresses: &mut impl Iterator<Item = Option<String>>) -> String {
    let element = |name: &str, words: &str| format!("<{name}>{}</{name}>\n", plain(words));
    match piece {
        Piece::Title(words) => element("h1", words),
        Piece::Say(words) => format!("<p class=\"say\">{}</p>\n", plain(words)),
        Piece::Head(words) => element("h2", words),
        Piece::Text(words) => element("p", words),
        Piece::Small(words) => format!("<p class=\"small\">{}</p>\n", plain(words)),
        Piece::List(lines) => {
            let lines: String = lines.iter().map(|line| element("li", line)).collect();
            format!("<ul>{lines}</ul>\n")
        }
        Piece::Table(heads, rows) => {
            let heads: String = heads.iter().map(|words| element("th", words)).collect();
            let rows: String = rows
                .iter()
                .map(|row| {
                    let cells = row.iter().enumerate();
                    let cells: String =
                        cells.map(|(at, cell)| element(if at == 0 { "th" } else { "td" }, cell)).collect();
                    format!("<tr>{cells}</tr>\n")
                })
                .collect();
            format!("<table><tr>{heads}</tr>\n{rows}</table>\n")
        }
        Piece::Shares(lines) => {
            let lines: String = lines.iter().map(share).collect();
            let words = share::axis_words().into_iter();
            let words: String = words
                .map(|(x, set, words)| format!("<text x=\"{x}\" y=\"14\" text-anchor=\"{set}\">{words}</text>"))
                .collect();
            let axis = drawing(18.0, "aria-hidden=\"true\"", &words);
            format!("<div class=\"s\">{lines}{axis}</div>\n")
        }
        Piece::Photos(columns) => {
            let columns: String = columns
                .iter()
                .map(|column| {
                    let photos: String =
                        (column.photos.iter()).map(|(_, words)| figure(words, addresses.next().flatten())).collect();
                    format!("<div><b>{}</b>{photos}</div>\n", plain(&column.name))
                })
                .collect();
            format!("<div class=\"g\">{columns}</div>\n")
        }
    }
}

fn share(line: &Line) -> String {
    let words = plain(&line.name_and_share());
    let paths = line.paths().into_iter();
    let paths: String = paths.map(|(class, d)| format!("<path class=\"{class}\" d=\"{d}\"/>")).collect();
    let role = format!("role=\"img\" aria-label=\"{words}{}\"", line.in_words());
    format!("<p>{words}</p>{}", drawing(share::HEIGHT, &role, &paths))
}

fn drawing(height: f64, role: &str, inner: &str) -> String {
    format!("<svg viewBox=\"0 0 {WIDTH} {height}\" {role}>{inner}</svg>\n")
}

fn figure(words: &str, address: Option<String>) -> String {
    let words = plain(words);
    let image = address.map(|address| format!("<img src=\"{address}\" alt=\"{words}\">"));
    format!("<figure>{}<figcaption>{words}</figcaption></figure>", image.unwrap_or_default())
}

/// Words as they may stand in markup.
fn plain(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
