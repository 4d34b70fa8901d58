//! Drawing one long page of words, rules and pictures as a picture file, top to bottom.
//!
//! A page is written twice: once to learn how long it gets, once for good.

use bloomdue_words::told::{BrowserRefused, NotMade};
use js_sys::Array;
use wasm_bindgen::JsValue;
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, HtmlImageElement, Path2d};

use super::photo::{canvas, context, jpeg, load};
use super::{error_text, files};

/// Width of the page.
const WIDTH_PX: u32 = 1080;
const SIDE_PX: f64 = 64.0;
/// Longer pages than this some devices refuse, or draw empty.
const LONGEST_PX: f64 = 12_000.0;
const SERIF: &str = "\"Iowan Old Style\", Palatino, \"Noto Serif\", \"Liberation Serif\", Georgia, serif";
const SANS: &str = "system-ui, \"Noto Sans\", \"Liberation Sans\", sans-serif";
const INK: &str = "#1d221f";
const PALE: &str = "#434a42";

/// How words look.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Style {
    /// The heading.
    Title,
    /// The one sentence.
    Say,
    /// A heading within.
    Head,
    /// Running text.
    Text,
    /// A second line.
    Small,
}

impl Style {
    fn size_px(self) -> f64 {
        match self {
            Self::Title => 56.0,
            Self::Say => 44.0,
            Self::Head => 36.0,
            Self::Text => 32.0,
            Self::Small => 27.0,
        }
    }

    fn font(self) -> String {
        let (weight, family) = match self {
            Self::Title | Self::Say | Self::Head => (600, SERIF),
            Self::Text | Self::Small => (400, SANS),
        };
        format!("{weight} {}px {family}", self.size_px())
    }
}

/// A picture that the browser has read.
pub(crate) struct Image(HtmlImageElement);

impl Image {
    /// Reads a picture at an address, and lets go of the address.
    ///
    /// # Errors
    /// When it is none.
    pub(crate) async fn read(address: &str) -> Result<Self, BrowserRefused> {
        let image = load(address).await;
        files::forget(address);
        image.map(Self).map_err(|why| BrowserRefused(error_text(&why)))
    }

    /// The same as a small JPEG written out as an address, for a page that stands by itself.
    ///
    /// # Errors
    /// When there is no memory for it.
    pub(crate) fn data_address(&self, long_edge_px: f64) -> Result<String, BrowserRefused> {
        let (wide, high) = self.fitted(long_edge_px, long_edge_px);
        let make = || -> Result<String, JsValue> {
            let canvas = canvas(wide.round() as u32, high.round() as u32)?;
            context(&canvas)?.draw_image_with_html_image_element_and_dw_and_dh(&self.0, 0.0, 0.0, wide, high)?;
            canvas.to_data_url_with_type_and_encoder_options("image/jpeg", &JsValue::from_f64(0.8))
        };
        make().map_err(|why| BrowserRefused(error_text(&why)))
    }

    fn fitted(&self, width: f64, height: f64) -> (f64, f64) {
        let (wide, high) = (f64::from(self.0.natural_width().max(1)), f64::from(self.0.natural_height().max(1)));
        let scale = (width / wide).min(height / high);
        ((wide * scale).max(1.0), (high * scale).max(1.0))
    }
}

/// The page under the pen.
pub(crate) struct Page {
    pen: CanvasRenderingContext2d,
    y: f64,
    drawing: bool,
}

impl Page {
    /// The width that words and pictures have.
    pub(crate) const INNER_PX: f64 = WIDTH_PX as f64 - 2.0 * SIDE_PX;

    /// Leaves room.
    pub(crate) fn gap(&mut self, px: f64) {
        self.y += px;
    }

    /// A line across.
    pub(crate) fn rule(&mut self) {
        self.y += 14.0;
        if self.drawing {
            self.pen.set_fill_style_str(INK);
            self.pen.fill_rect(SIDE_PX, self.y, Self::INNER_PX, 3.0);
        }
        self.y += 20.0;
    }

    /// Words over the whole width.
    pub(crate) fn words(&mut self, words: &str, style: Style) {
        self.y += self.block(words, style, 0.0, Self::INNER_PX);
        self.y += style.size_px() * 0.3;
    }

    /// Words side by side in columns of these widths, shares of the whole.
    pub(crate) fn columns(&mut self, cells: &[(String, f64)], style: Style) {
        let (mut left, mut tallest) = (0.0, 0.0_f64);
        for (words, share) in cells {
            let width = Self::INNER_PX * share;
            tallest = tallest.max(self.block(words, style, left, width - 16.0));
            left += width;
        }
        self.y += tallest + 6.0;
    }

    /// Pictures side by side, each within its column; nothing where there is none.
    pub(crate) fn pictures(&mut self, row: &[Option<&Image>]) {
        let width = Self::INNER_PX / row.len().max(1) as f64;
        let mut tallest = 0.0_f64;
        for (at, image) in row.iter().enumerate() {
            let Some(image) = image else { continue };
            let (wide, high) = image.fitted(width - 16.0, width * 1.1);
            tallest = tallest.max(high);
            if self.drawing {
                // A picture that cannot be drawn leaves its room empty; its words stand below.
                let _ = self.pen.draw_image_with_html_image_element_and_dw_and_dh(
                    &image.0,
                    SIDE_PX + width * at as f64,
                    self.y,
                    wide,
                    high,
                );
            }
        }
        self.y += tallest + 8.0;
    }

    /// Outlines over the whole width, by the classes that the screen has for them.
    pub(crate) fn outlines(&mut self, paths: &[(&str, String)], (wide, high): (f64, f64)) {
        let scale = Self::INNER_PX / wide;
        if self.drawing {
            for (class, d) in paths {
                // What the device cannot draw stands in words above it.
                let _ = self.outline(class, d, scale);
            }
        }
        self.y += high * scale;
    }

    fn outline(&self, class: &str, d: &str, scale: f64) -> Result<(), JsValue> {
        let (pen, path) = (&self.pen, Path2d::new_with_path_string(d)?);
        pen.save();
        pen.translate(SIDE_PX, self.y)?;
        pen.scale(scale, scale)?;
        let is = |word| class.contains(word);
        if is("dot-full") || is("fl") {
            pen.set_fill_style_str(if is("fl") { "#fff" } else { INK });
            pen.fill_with_path_2d(&path);
        }
        if is("broken") {
            pen.set_line_dash(&Array::of2(&5.into(), &4.into()))?;
        }
        pen.set_line_width(if is("thick") { 2.4 } else { 1.4 });
        pen.set_stroke_style_str(if is("tick") { "#777" } else { INK });
        pen.stroke_with_path(&path);
        pen.restore();
        Ok(())
    }

    /// Words in one line, each set at its place along a width.
    pub(crate) fn along(&mut self, words: &[(f64, &str, String)], wide: f64, style: Style) {
        let height = style.size_px() * 1.3;
        self.y += height;
        if self.drawing {
            self.pen.set_font(&style.font());
            self.pen.set_fill_style_str(PALE);
            for (x, set, words) in words {
                self.pen.set_text_align(if *set == "middle" { "center" } else { set });
                let x = SIDE_PX + x * Self::INNER_PX / wide;
                // As above.
                let _ = self.pen.fill_text(words, x, self.y);
            }
            self.pen.set_text_align("start");
        }
        self.y += height * 0.3;
    }

    /// Words broken into lines of a width, from here down; gives their height.
    fn block(&self, words: &str, style: Style, left: f64, width: f64) -> f64 {
        self.pen.set_font(&style.font());
        let line_px = style.size_px() * 1.3;
        let mut n_lines = 0.0;
        let mut put = |line: &str| {
            n_lines += 1.0;
            if self.drawing {
                let pale = style == Style::Small;
                self.pen.set_fill_style_str(if pale { PALE } else { INK });
                let foot = self.y + line_px * n_lines - style.size_px() * 0.3;
                // Without a font there is nothing to be done.
                let _ = self.pen.fill_text(line, SIDE_PX + left, foot);
            }
        };
        let mut line = String::new();
        for word in words.split_whitespace() {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            let fits = self.pen.measure_text(&longer).map(|size| size.width() <= width);
            if line.is_empty() || fits.unwrap_or(true) {
                line = longer;
            } else {
                put(&line);
                word.clone_into(&mut line);
            }
        }
        put(&line);
        line_px * n_lines
    }
}

/// Why there is no page.
pub(crate) enum NoPage {
    /// It would be longer than devices draw.
    TooLong,
    /// The browser refused.
    Refused(BrowserRefused),
}

impl From<JsValue> for NoPage {
    fn from(problem: JsValue) -> Self {
        Self::Refused(BrowserRefused(error_text(&problem)))
    }
}

impl From<NoPage> for NotMade {
    fn from(why: NoPage) -> Self {
        match why {
            NoPage::TooLong => Self::PictureTooLong,
            NoPage::Refused(why) => Self::Browser(why),
        }
    }
}

/// Writes a page and gives it as a JPEG.
///
/// # Errors
/// When it gets too long, or the browser has no memory for it.
pub(crate) async fn page(write: impl Fn(&mut Page)) -> Result<Blob, NoPage> {
    let canvas = drawn(write)?;
    Ok(jpeg(&canvas).await?)
}

fn drawn(write: impl Fn(&mut Page)) -> Result<HtmlCanvasElement, NoPage> {
    let mut page = Page { pen: context(&canvas(WIDTH_PX, 1)?)?, y: SIDE_PX, drawing: false };
    write(&mut page);
    let height = page.y + SIDE_PX;
    if height > LONGEST_PX {
        return Err(NoPage::TooLong);
    }
    let canvas = canvas(WIDTH_PX, height.ceil() as u32)?;
    let mut page = Page { pen: context(&canvas)?, y: SIDE_PX, drawing: true };
    write(&mut page);
    Ok(canvas)
}
