//! `view!`: the markup of a screen as a constant string and a list of what is not constant.
//!
//! Leptos' own macro expands markup to code, element by element and attribute by attribute. With several hundred
//! views that code was the largest part of the program. Here markup becomes a *template* (elements, texts and
//! attributes that never change: one string, which compresses well beside all the others) and a list of *holes*
//! (everything else), and one function of the app, `crate::device::view`, builds and rebuilds the page from both. With
//! the screens unchanged this took 82 KiB off what is kept for offline use (1,000 to 919 KiB brotli) and 20 KiB
//! off the first visit (345 to 325); one type for every view instead of many took another 17 KiB and 4 KiB.
//!
//! # What it takes
//!
//! The syntax is Leptos':
//!
//! - elements of HTML and SVG, text in quotes, comments;
//! - attributes with a literal, which go into the template, or with any other expression: text, numbers, `bool`,
//!   `Option` of these (`None` leaves the attribute away), a signal or a closure, which is asked again whenever a
//!   signal it read has changed;
//! - `prop:name`, `class:name` and `on:event`; a handler gets the plain `Event`;
//! - children in braces: what attributes take, views, and lists of these;
//! - components, expanded by Leptos' macro with their children by this one;
//! - `<Show when fallback>`, built in, because a function for each of its uses was costly.
//!
//! It takes no `style:`, `node_ref`, `inner_html`, spread attributes or slots, and says so.
//!
//! # What a hole is
//!
//! A place in the template that the code fills each time the view is made. Holes are filled in the order of the
//! template. When a view is made again where one of the same template stands, each hole is compared with what it
//! held: text and attributes are set only if they differ, so an input keeps its focus and what was typed.

mod marks;
mod writer;

/// Markup of HTML, SVG and components, made into a view: an expression of type `crate::device::view::Made`.
///
/// See the description of the crate for what may stand in it. What may not is an error of the compiler, at the place
/// where it stands.
#[proc_macro]
pub fn view(tokens: proc_macro::TokenStream) -> proc_macro::TokenStream {
    writer::view(tokens.into())
        .unwrap_or_else(|error| {
            let error = error.into_compile_error();
            quote::quote!({ #error })
        })
        .into()
}
