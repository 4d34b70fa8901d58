//! How good the calls of this nursery are: in words first, by person, by question, and by two people on one shoot.

use bloomdue_core::call::Calls as Made;
use bloomdue_words::call as say;
use bloomdue_words::route::Route;
use bloomdue_words::table::Table;
use leptos::prelude::*;

use crate::app::{Records, app};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::plots::table::{TableBehind, numbers};

/// How calls turned out.
#[component]
pub(crate) fn Calls() -> impl IntoView {
    let app = app();
    let name = Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()));
    view! {
        <Heading place=name title=say::good_title() under=say::good_under().to_owned() back=Route::Trials />
        {move || app.read(shown)}
        <div class="act">
            <a class="btn main" href=Route::Practice.href()>{say::practice_title()}</a>
        </div>
    }
}

fn shown(r: Records<'_>) -> AnyView {
    let made = Made::of(r.ledger, r.state);
    let accuracy = made.accuracy(None);
    if accuracy.n_called == 0 {
        return view! { <p>{say::none_called()}</p> }.into_any();
    }
    let mut lines = say::how_good(&accuracy).into_iter();
    let first = lines.next();
    let rest = lines.map(|line| view! { <li>{line}</li> }).collect_view();
    let proved = (accuracy.n_proved() > 0).then(|| of_proved(&made, r));
    view! {
        <p class="say">{first}</p>
        <ul class="plain">{rest}</ul>
        {proved}
    }
    .into_any()
}

fn of_proved(made: &Made, r: Records<'_>) -> AnyView {
    let table =
        |caption: &str, heads: Vec<String>, rows: Vec<Vec<String>>| Table { caption: caption.to_owned(), heads, rows };
    let person =
        |who: &_| say::person_row(r.state.name_of(*who), &made.accuracy(Some(*who)), &made.days_gained(Some(*who)));
    let people = made.observers().iter().map(person).collect();
    let characters = made.by_character(None).iter().map(say::character_row).collect();
    let bins = made.calibration(None).iter().map(say::bin_row).collect();
    let pairs: Vec<_> = made
        .agreements()
        .iter()
        .map(|of| {
            let (a, b) = (r.state.name_of(of.a), r.state.name_of(of.b));
            let counts = numbers(&say::agreement_table(a, b, of));
            view! { <p>{say::agreement(a, b, of)}</p> {counts} }
        })
        .collect();
    view! {
        <p>{say::days_gained(&made.days_gained(None))}</p>
        <h2>{say::by_person()}</h2>
        {numbers(&table(say::by_person(), say::person_heads(), people))}
        <h2>{say::by_question()}</h2>
        {numbers(&table(say::by_question(), say::character_heads(), characters))}
        <h2>{say::as_said()}</h2>
        {numbers(&table(say::as_said(), say::bin_heads(), bins))}
        {(!pairs.is_empty()).then(|| view! { <Fold summary=say::agree()>{pairs}</Fold> })}
        <TableBehind table=say::measures(&made.accuracy(None)) />
    }
    .into_any()
}
