//! From markup to the template and the code that fills its holes.

use proc_macro2::{Ident, Span, TokenStream};
use quote::{ToTokens, quote};
use rstml::node::{KeyedAttribute, Node, NodeAttribute, NodeBlock};
use syn::spanned::Spanned;
use syn::{Error, Expr, Lit, Result, Stmt};

use crate::marks;

type NodeElement = rstml::node::NodeElement<rstml::Infallible>;

/// The expression a whole `view!` stands for.
pub(crate) fn view(tokens: TokenStream) -> Result<TokenStream> {
    let config = rstml::ParserConfig::default().recover_block(true);
    let (nodes, errors) = rstml::Parser::new(config)
        .parse_recoverable(tokens)
        .split_vec();
    if !errors.is_empty() {
        let errors = errors.into_iter().map(|e| e.emit_as_expr_tokens());
        return Ok(quote!({ #(#errors;)* }));
    }
    made(&nodes)
}

/// A template in the making.
#[derive(Default)]
pub(crate) struct Writer {
    /// What is constant, in marks and words.
    pub(crate) template: String,
    /// Statements that fill the holes, in the order in which the template has them.
    pub(crate) puts: Vec<TokenStream>,
}

/// The name under which the generated code collects what fills the holes.
fn holes() -> Ident {
    Ident::new("holes", Span::mixed_site())
}

fn runtime() -> TokenStream {
    quote!(crate::device::view)
}

/// A view of several nodes.
fn made(nodes: &[Node]) -> Result<TokenStream> {
    let mut writer = Writer::default();
    writer.nodes(nodes)?;
    let Writer { template, puts } = writer;
    let (runtime, holes) = (runtime(), holes());
    if puts.is_empty() {
        return Ok(quote!(#runtime::Made::new(#template)));
    }
    let made = Ident::new("made", Span::mixed_site());
    Ok(quote!({
        let mut #made = #runtime::Made::new(#template);
        let #holes = #made.holes();
        #(#puts)*
        #made
    }))
}

/// The statement that puts some nodes where one child is asked for.
fn as_one_child(nodes: &[Node]) -> Result<TokenStream> {
    let mut writer = Writer::default();
    writer.nodes(nodes)?;
    if writer.template == marks::CHILD.to_string() {
        return Ok(writer.puts.remove(0));
    }
    let (made, holes) = (made(nodes)?, holes());
    Ok(quote!(#holes.made(#made);))
}

/// A component, with its children written by this macro too.
fn component(element: &NodeElement) -> Result<TokenStream> {
    let open = &element.open_tag;
    let (name, generics, attributes) = (&open.name, &open.generics, element.attributes());
    let children = &element.children;
    let written = if children.is_empty() {
        quote!(<#name #generics #(#attributes)* />)
    } else {
        let children = made(children)?;
        quote!(<#name #generics #(#attributes)*>{#children}</#name>)
    };
    Ok(quote!(::leptos::prelude::view! { #written }.into_inner()))
}

impl Writer {
    fn put(&mut self, statement: TokenStream) {
        self.puts.push(statement);
    }

    fn nodes(&mut self, nodes: &[Node]) -> Result<()> {
        nodes.iter().try_for_each(|node| self.node(node))
    }

    fn node(&mut self, node: &Node) -> Result<()> {
        match node {
            Node::Comment(_) => Ok(()),
            Node::Text(text) => self.text(&text.value.value(), text.span()),
            Node::Fragment(fragment) => self.nodes(&fragment.children),
            Node::Block(block) => self.child(block),
            Node::Element(element) if is_show(element) => self.show(element),
            Node::Element(element) if is_component(element) => {
                let (component, holes) = (component(element)?, holes());
                self.template.push(marks::CHILD);
                self.put(quote!(#holes.component(#component);));
                Ok(())
            }
            Node::Element(element) => self.element(element),
            other => Err(Error::new(
                other.span(),
                "this cannot stand in a view; text stands in quotes",
            )),
        }
    }

    fn text(&mut self, text: &str, span: Span) -> Result<()> {
        self.template.push(marks::TEXT);
        self.words(text, span)
    }

    fn words(&mut self, words: &str, span: Span) -> Result<()> {
        if words.chars().any(|c| ('\u{e}'..='\u{17}').contains(&c)) {
            return Err(Error::new(span, "a character that templates use as a mark"));
        }
        self.template.push_str(words);
        Ok(())
    }

    fn child(&mut self, block: &NodeBlock) -> Result<()> {
        let expr = plain(block);
        if let Some(Lit::Str(text)) = expr.as_ref().and_then(literal) {
            return self.text(&text.value(), text.span());
        }
        let (runtime, holes) = (runtime(), holes());
        self.template.push(marks::CHILD);
        self.put(match &expr {
            Some(Expr::Closure(closure)) => {
                let live = live(closure);
                quote!(#holes.live(#live);)
            }
            Some(expr) => quote!(#runtime::Fill::fill(#expr, #holes);),
            None => quote!(#runtime::Fill::fill(#block, #holes);),
        });
        Ok(())
    }

    /// `<Show when fallback>`, of which there are too many for a function of its own each.
    fn show(&mut self, element: &NodeElement) -> Result<()> {
        let (mut when, mut fallback) = (None, quote!(None));
        for attribute in element.attributes() {
            match attribute {
                NodeAttribute::Attribute(a) if a.key.to_string() == "when" => when = a.value(),
                NodeAttribute::Attribute(a) if a.key.to_string() == "fallback" => {
                    let live = live(&a.value());
                    fallback = quote!(Some(#live));
                }
                other => return Err(Error::new(other.span(), "only `when` and `fallback`")),
            }
        }
        let when = when.ok_or_else(|| Error::new(element.span(), "when?"))?;
        let (child, holes, runtime) = (as_one_child(&element.children)?, holes(), runtime());
        self.template.push(marks::CHILD);
        self.put(quote!(#holes.show(
            Box::new(#when),
            Box::new(move |#holes: &mut #runtime::Holes| {
                #child
            }),
            #fallback,
        );));
        Ok(())
    }

    fn element(&mut self, element: &NodeElement) -> Result<()> {
        let name = element.name().to_string();
        self.template.push(if is_svg(&name) {
            marks::OPEN_SVG
        } else {
            marks::OPEN
        });
        self.words(&name, element.name().span())?;
        // What sets the whole class comes before what adds to it.
        let (classes, others): (Vec<_>, Vec<_>) =
            element.attributes().iter().partition(|a| match a {
                NodeAttribute::Attribute(a) => a.key.to_string() == "class",
                NodeAttribute::Block(_) => false,
            });
        for attribute in classes.into_iter().chain(others) {
            match attribute {
                NodeAttribute::Attribute(attribute) => self.attribute(attribute)?,
                NodeAttribute::Block(block) => {
                    return Err(Error::new(block.span(), "an attribute needs a name"));
                }
            }
        }
        self.nodes(&element.children)?;
        self.template.push(marks::CLOSE);
        Ok(())
    }

    fn attribute(&mut self, attribute: &KeyedAttribute) -> Result<()> {
        let key = attribute.key.to_string();
        let span = attribute.key.span();
        let (runtime, holes) = (runtime(), holes());
        let (mark, name) = match key.split_once(':') {
            None => (marks::VALUE, key.as_str()),
            Some(("prop", name)) => (marks::PROPERTY, name),
            Some(("class", name)) => (marks::CLASS, name),
            Some(("on", name)) => (marks::EVENT, name),
            Some(_) => {
                return Err(Error::new(
                    span,
                    "of names with a colon, views know on:, prop: and class:",
                ));
            }
        };
        if mark == marks::VALUE && matches!(name, "style" | "node_ref" | "inner_html") {
            return Err(Error::new(span, "views take no such attribute"));
        }
        let Some(value) = attribute.value() else {
            self.template.push(marks::ATTRIBUTE);
            return self.words(name, span);
        };
        if mark == marks::VALUE
            && let Some(words) = literal(value).and_then(constant)
        {
            if let Some(words) = words {
                self.template.push(marks::ATTRIBUTE);
                self.words(name, span)?;
                if !words.is_empty() {
                    self.template.push('=');
                    self.words(&words, value.span())?;
                }
            }
            return Ok(());
        }
        self.template.push(mark);
        self.words(name, span)?;
        self.put(match value {
            value if mark == marks::EVENT => quote!(#holes.event(#value);),
            Expr::Closure(closure) => {
                let live = live(closure);
                quote!(#holes.live(#live);)
            }
            value => quote!(#runtime::Fill::fill(#value, #holes);),
        });
        Ok(())
    }
}

/// A closure, boxed so that it fills a hole with what it gives.
fn live(closure: &impl ToTokens) -> TokenStream {
    let (runtime, holes) = (runtime(), holes());
    let give = Ident::new("give", Span::mixed_site());
    quote!({
        let #give = #closure;
        Box::new(move |#holes: &mut #runtime::Holes| #runtime::Fill::fill(#give(), #holes))
    })
}

/// What a block of one expression says.
fn plain(block: &NodeBlock) -> Option<Expr> {
    let NodeBlock::ValidBlock(block) = block else {
        return None;
    };
    match block.stmts.as_slice() {
        [Stmt::Expr(expr, None)] => Some(expr.clone()),
        _ => None,
    }
}

fn literal(expr: &Expr) -> Option<Lit> {
    match expr {
        Expr::Lit(lit) => Some(lit.lit.clone()),
        _ => None,
    }
}

/// What a literal says as the value of an attribute; `Some(None)` says that the attribute is not there.
fn constant(lit: Lit) -> Option<Option<String>> {
    match lit {
        Lit::Str(s) => Some(Some(s.value())),
        Lit::Bool(b) => Some(b.value.then(String::new)),
        Lit::Int(n) => Some(Some(n.base10_digits().to_owned())),
        Lit::Float(n) => Some(Some(n.base10_digits().to_owned())),
        _ => None,
    }
}

fn is_show(element: &NodeElement) -> bool {
    element.name().to_string() == "Show"
}

/// Whether the last part of the name begins with a capital letter.
fn is_component(element: &NodeElement) -> bool {
    let name = element.name().to_string();
    let last = name.rsplit("::").next().unwrap_or_default().trim();
    last.starts_with(char::is_uppercase)
}

/// The elements of SVG that screens draw with.
fn is_svg(name: &str) -> bool {
    matches!(
        name,
        "svg"
            | "circle"
            | "clipPath"
            | "defs"
            | "desc"
            | "ellipse"
            | "g"
            | "image"
            | "line"
            | "linearGradient"
            | "marker"
            | "mask"
            | "path"
            | "pattern"
            | "polygon"
            | "polyline"
            | "radialGradient"
            | "rect"
            | "stop"
            | "symbol"
            | "text"
            | "textPath"
            | "tspan"
            | "use"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The template of some markup, readable, and how many holes are filled.
    fn written(markup: &str) -> (String, usize) {
        let tokens = markup.parse().expect("Rust tokens");
        let nodes = rstml::parse2(tokens).expect("markup");
        let mut writer = Writer::default();
        writer.nodes(&nodes).expect("nothing refused");
        let names = [
            (marks::OPEN, "<"),
            (marks::OPEN_SVG, "<svg:"),
            (marks::CLOSE, ">"),
            (marks::TEXT, "'"),
            (marks::ATTRIBUTE, " "),
            (marks::CHILD, "{}"),
            (marks::VALUE, " {}"),
            (marks::PROPERTY, " prop:{}"),
            (marks::CLASS, " class:{}"),
            (marks::EVENT, " on:{}"),
        ];
        let readable = names.iter().fold(writer.template, |text, (mark, name)| {
            text.replace(*mark, name)
        });
        (readable, writer.puts.len())
    }

    fn refused(markup: &str) -> bool {
        let tokens = markup.parse().expect("Rust tokens");
        let nodes = rstml::parse2(tokens).expect("markup");
        Writer::default().nodes(&nodes).is_err()
    }

    #[test]
    fn what_never_changes_needs_no_hole() {
        let (template, n_holes) =
            written(r#"<p class="small" data-heading>"Ready " {"now"}<br /></p>"#);
        assert_eq!(template, "<p class=small data-heading'Ready 'now<br>>");
        assert_eq!(n_holes, 0);
        assert_eq!(
            written("<input disabled=true hidden=false tabindex=-1 max=3.5 />").0,
            "<input disabled {}tabindex max=3.5>"
        );
    }

    #[test]
    fn holes_stand_in_the_order_of_the_template() {
        let (template, n_holes) = written(
            r#"<input prop:value=value on:input=heard class:done=done aria-label=label class="box" />{rows}"#,
        );
        assert_eq!(
            template,
            "<input class=box prop:{}value on:{}input class:{}done {}aria-label>{}"
        );
        assert_eq!(n_holes, 5);
    }

    #[test]
    fn drawings_are_in_the_namespace_of_drawings() {
        let (template, n_holes) = written(r#"<svg viewBox="0 0 9 9"><path d=d /></svg>"#);
        assert_eq!(template, "<svg:svg viewBox=0 0 9 9<svg:path {}d>>");
        assert_eq!(n_holes, 1);
    }

    #[test]
    fn components_and_conditions_are_one_hole_each() {
        let (template, n_holes) =
            written(r#"<Heading title=title /><Show when=quiet><p>"Nothing"</p></Show>"#);
        assert_eq!((template.as_str(), n_holes), ("{}{}", 2));
    }

    #[test]
    fn what_the_app_cannot_build_is_refused() {
        assert!(refused("<p style:color=c />"));
        assert!(refused("<p {..rest} />"));
        assert!(refused("<Show>{x}</Show>"));
        assert!(refused("<!DOCTYPE html>"));
        assert!(refused("<p>\"\u{e}\"</p>"));
    }
}
