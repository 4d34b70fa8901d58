//! From a camera's file to what is kept: two small JPEGs without a word about where or by what they were taken.
//!
//! The picture is drawn anew, so nothing of the file but its pixels survives: no place, no time, no serial
//! number. Turning the picture upright comes from the browser, which reads the file's orientation.

use super::{document, error_text, files, window};
use bloomdue_core::picture::{exif, look_over};
use bloomdue_core::sight::finder::{EDGE_PX, Grey};
use bloomdue_core::sight::shade::{self, NoShade, Patch};
use bloomdue_words::told::{BrowserRefused, NoPhoto};
use js_sys::Promise;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    Blob, CanvasRenderingContext2d, File, HtmlCanvasElement, HtmlImageElement, ImageBitmap, ImageBitmapOptions,
    ResizeQuality, Url,
};

/// The longer edge of what is kept, and of the small picture for lists.
const LONG_EDGE_PX: u32 = 1600;
const THUMB_EDGE_PX: u32 = 240;
/// Side of the middle of a photo in which a card's brightness is read.
const PATCH_PX: u32 = 200;
/// JPEG quality of both, 0 to 1.
const QUALITY: f64 = 0.8;
/// How far the shape of a shrunk picture may be off before it is not believed: rounding of one pixel in a strip.
const SHAPE_TOLERANCE: f64 = 0.02;

/// A photo as it is kept.
pub(crate) struct Photo {
    /// The picture, JPEG, upright.
    pub(crate) jpeg: Vec<u8>,
    /// The same for lists, JPEG.
    pub(crate) thumb: Vec<u8>,
    /// Width of the picture.
    pub(crate) width_px: u32,
    /// Height of the picture.
    pub(crate) height_px: u32,
}

/// Makes the two pictures from a file of the camera or the gallery.
///
/// # Errors
///
/// When the file is unfit, the browser cannot read it as a picture or has no memory for it.
pub(crate) async fn make(file: &File) -> Result<Photo, NoPhoto> {
    // Before anything is decoded: a small file may unpack to more than the device has.
    let bytes = files::read(file).await.map_err(|BrowserRefused(why)| NoPhoto::Refused(why))?;
    let kind = look_over(&bytes).map_err(NoPhoto::Unfit)?;
    drop(bytes);
    let refused = |problem: JsValue| NoPhoto::Refused(error_text(&problem));
    let address = Url::create_object_url_with_blob(file).map_err(refused)?;
    let made = match load(&address).await {
        Ok(image) => from_image(file, &image).await.map_err(refused),
        Err(_) => Err(NoPhoto::Unread(kind)),
    };
    files::forget(&address);
    made
}

async fn from_image(file: &File, image: &HtmlImageElement) -> Result<Photo, JsValue> {
    let (width, height) = fit(image.natural_width(), image.natural_height(), LONG_EDGE_PX);
    let canvas = canvas(width, height)?;
    let context = context(&canvas)?;
    let (wide, high) = (f64::from(width), f64::from(height));
    // Shrinking while decoding is quicker and spares the memory of the full picture; where a browser
    // does it before turning the picture upright the shape comes out wrong, and the image is drawn itself.
    match shrunk(file, width, height).await {
        Some(bitmap) => {
            context.draw_image_with_image_bitmap_and_dw_and_dh(&bitmap, 0.0, 0.0, wide, high)?;
            bitmap.close();
        }
        None => context.draw_image_with_html_image_element_and_dw_and_dh(image, 0.0, 0.0, wide, high)?,
    }
    let (thumb_width, thumb_height) = fit(width, height, THUMB_EDGE_PX);
    let small = self::canvas(thumb_width, thumb_height)?;
    self::context(&small)?.draw_image_with_html_canvas_element_and_dw_and_dh(
        &canvas,
        0.0,
        0.0,
        f64::from(thumb_width),
        f64::from(thumb_height),
    )?;
    Ok(Photo { jpeg: encode(&canvas).await?, thumb: encode(&small).await?, width_px: width, height_px: height })
}

/// The brightness of a picture, shrunk for finding a card in it; nothing when the browser has no memory for it.
pub(crate) async fn grey(address: &str) -> Option<Grey> {
    let image = load(address).await.ok()?;
    let (width, height) = fit(image.natural_width(), image.natural_height(), EDGE_PX);
    let canvas = canvas(width, height).ok()?;
    let context = context(&canvas).ok()?;
    let (wide, high) = (f64::from(width), f64::from(height));
    context.draw_image_with_html_image_element_and_dw_and_dh(&image, 0.0, 0.0, wide, high).ok()?;
    let pixels = context.get_image_data(0.0, 0.0, wide, high).ok()?.data();
    Some(Grey::of_rgba(width, height, &pixels))
}

/// The card in the middle of a photo as the camera made it.
///
/// # Errors
/// When the photo does not say how it was exposed, or cannot be read.
pub(crate) async fn patch(file: &File) -> Result<Patch, NoShade> {
    let bytes = files::read(file).await.map_err(|_| NoShade::Unread)?;
    let exposure = look_over(&bytes)
        .map_err(|_| NoShade::Unread)
        .and_then(|_| exif::exposure(&bytes).ok_or(NoShade::NoExposure))?;
    drop(bytes);
    let address = Url::create_object_url_with_blob(file).map_err(|_| NoShade::Unread)?;
    let pixels = match load(&address).await {
        Ok(image) => middle(&image),
        Err(why) => Err(why),
    };
    files::forget(&address);
    let pixels = pixels.map_err(|_| NoShade::Unread)?;
    let (linear_mean, clipped_share) = shade::linear_mean(&pixels).ok_or(NoShade::Clipped)?;
    Ok(Patch { exposure, linear_mean, clipped_share })
}

/// The brightness of a picture's middle, pixel by pixel.
fn middle(image: &HtmlImageElement) -> Result<Vec<u8>, JsValue> {
    let (width, height) = (image.natural_width(), image.natural_height());
    let side = PATCH_PX.min(width).min(height);
    let canvas = canvas(side, side)?;
    let context = context(&canvas)?;
    let (left, top) = (f64::from(width - side) / 2.0, f64::from(height - side) / 2.0);
    context.draw_image_with_html_image_element(image, -left, -top)?;
    let pixels = context.get_image_data(0.0, 0.0, f64::from(side), f64::from(side))?.data();
    Ok(Grey::of_rgba(side, side, &pixels).pixels)
}

/// Loads an image far enough to know its size, upright; its pixels are not unpacked yet.
pub(super) async fn load(address: &str) -> Result<HtmlImageElement, JsValue> {
    let image = HtmlImageElement::new()?;
    let loaded = Promise::new(&mut |done, fail| {
        image.set_onload(Some(&done));
        image.set_onerror(Some(&fail));
        image.set_src(address);
    });
    match JsFuture::from(loaded).await {
        Ok(_) => Ok(image),
        Err(_) => Err(JsValue::from_str("this is no picture that the browser can read")),
    }
}

/// The picture shrunk while it is decoded, when the browser does that and keeps its shape.
async fn shrunk(file: &Blob, width: u32, height: u32) -> Option<ImageBitmap> {
    let options = ImageBitmapOptions::new();
    options.set_resize_quality(ResizeQuality::High);
    if width >= height {
        options.set_resize_width(width);
    } else {
        options.set_resize_height(height);
    }
    let wanted = window().create_image_bitmap_with_blob_and_image_bitmap_options(file, &options).ok()?;
    let bitmap: ImageBitmap = JsFuture::from(wanted).await.ok()?.unchecked_into();
    let got = f64::from(bitmap.width()) / f64::from(bitmap.height().max(1));
    let asked = f64::from(width) / f64::from(height);
    if (got / asked - 1.0).abs() <= SHAPE_TOLERANCE {
        return Some(bitmap);
    }
    bitmap.close();
    None
}

/// The size with the longer edge at most `edge`, the shape kept; never larger than it was.
pub(super) fn fit(width: u32, height: u32, edge: u32) -> (u32, u32) {
    let long = width.max(height).max(1);
    if long <= edge {
        return (width.max(1), height.max(1));
    }
    let scaled = |side: u32| {
        let exact = (u64::from(side) * u64::from(edge) + u64::from(long) / 2) / u64::from(long);
        u32::try_from(exact).unwrap_or(edge).max(1)
    };
    (scaled(width), scaled(height))
}

pub(super) fn canvas(width: u32, height: u32) -> Result<HtmlCanvasElement, JsValue> {
    let canvas: HtmlCanvasElement = document().create_element("canvas")?.unchecked_into();
    canvas.set_width(width);
    canvas.set_height(height);
    Ok(canvas)
}

/// The canvas' pen, on white: a JPEG has no see-through.
pub(super) fn context(canvas: &HtmlCanvasElement) -> Result<CanvasRenderingContext2d, JsValue> {
    let context: CanvasRenderingContext2d = canvas
        .get_context("2d")?
        .ok_or_else(|| JsValue::from_str("this browser cannot draw pictures"))?
        .unchecked_into();
    context.set_fill_style_str("white");
    context.fill_rect(0.0, 0.0, f64::from(canvas.width()), f64::from(canvas.height()));
    // Not every browser of the floor knows the setting; without it thumbnails are merely coarser.
    let _ = js_sys::Reflect::set(&context, &"imageSmoothingQuality".into(), &"high".into());
    Ok(context)
}

/// A canvas as the bytes of a JPEG.
async fn encode(canvas: &HtmlCanvasElement) -> Result<Vec<u8>, JsValue> {
    let blob = jpeg(canvas).await?;
    files::read(&blob).await.map_err(|BrowserRefused(why)| JsValue::from_str(&why))
}

/// A canvas as a JPEG.
pub(super) async fn jpeg(canvas: &HtmlCanvasElement) -> Result<Blob, JsValue> {
    let made = Promise::new(&mut |done, fail| {
        let handed = Closure::once_into_js(move |blob: JsValue| {
            let _ = done.call1(&JsValue::NULL, &blob);
        });
        let quality = JsValue::from_f64(QUALITY);
        let asked = canvas.to_blob_with_type_and_encoder_options(handed.unchecked_ref(), "image/jpeg", &quality);
        if let Err(problem) = asked {
            let _ = fail.call1(&JsValue::NULL, &problem);
        }
    });
    let blob = JsFuture::from(made).await?;
    blob.dyn_into().map_err(|_| JsValue::from_str("there was no memory for the picture"))
}
