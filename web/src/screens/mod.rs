//! One file a screen. A screen asks core and words; it computes nothing and builds no entry.

pub(crate) mod add_bulbs;
pub(crate) mod bulb;
pub(crate) mod calendar_file;
pub(crate) mod call;
mod calls;
pub(crate) mod care;
pub(crate) mod care_job;
mod care_plan;
pub(crate) mod coming;
pub(crate) mod container;
pub(crate) mod disagreements;
pub(crate) mod due;
pub(crate) mod edit_bulb;
mod evening;
pub(crate) mod files;
pub(crate) mod find;
pub(crate) mod first;
pub(crate) mod groups;
mod inspect;
pub(crate) mod job;
mod knowledge;
mod labels;
mod light;
pub(crate) mod look;
pub(crate) mod lots;
mod measure;
pub(crate) mod new_trial;
pub(crate) mod people;
pub(crate) mod place;
pub(crate) mod place_form;
pub(crate) mod places;
mod plan;
mod potting;
mod practice;
mod published;
pub(crate) mod record;
pub(crate) mod report;
pub(crate) mod result;
pub(crate) mod run;
pub(crate) mod same_bulb;
mod scan;
mod scapes;
pub(crate) mod several;
pub(crate) mod sheet;
pub(crate) mod show;
mod side_by_side;
pub(crate) mod stock;
pub(crate) mod storage;
mod tables;
pub(crate) mod take_in;
pub(crate) mod trial;
pub(crate) mod trials;
pub(crate) mod tries_result;
pub(crate) mod type_in;
pub(crate) mod unfinished;
pub(crate) mod walk;
pub(crate) mod week;
mod words;

use bloomdue_words::route::Route;
use leptos::prelude::*;

/// A screen among the first, which are there as soon as the app is.
pub(crate) fn first(route: &Route) -> Option<AnyView> {
    match route {
        Route::Due => Some(view! { <due::Due /> }.into_any()),
        Route::Places => Some(view! { <places::Places /> }.into_any()),
        Route::Start => Some(view! { <first::First /> }.into_any()),
        _ => None,
    }
}

/// The screens that the first ones can do without; only the second part calls this.
pub(crate) fn later(route: Route) -> AnyView {
    match route {
        Route::NewPlace => view! { <place_form::PlaceForm place=None /> }.into_any(),
        Route::Light(place) => view! { <light::Light place=place /> }.into_any(),
        Route::EditPlace(place) => view! { <place_form::PlaceForm place=Some(place) /> }.into_any(),
        Route::Place(place) => view! { <place::Place place=place /> }.into_any(),
        Route::AddBulbs(place) => view! { <add_bulbs::AddBulbs place=place /> }.into_any(),
        Route::Walk(place) => view! { <walk::Walk place=place /> }.into_any(),
        Route::Care(subject, group) => view! { <care::Care subject=subject group=group /> }.into_any(),
        Route::CareForm(subject, group, word) => {
            view! { <care::CareForm subject=subject group=group word=word /> }.into_any()
        }
        Route::JobForm(place, key) => view! { <job::JobForm place=place key=key /> }.into_any(),
        Route::Trouble(bulb, word) => view! { <care::Trouble bulb=bulb word=word /> }.into_any(),
        Route::Several(subject) => view! { <several::Several subject=subject /> }.into_any(),
        Route::Labels(subject) => view! { <labels::Labels subject=subject /> }.into_any(),
        Route::Scan => view! { <scan::Scan /> }.into_any(),
        Route::Lots => view! { <lots::Lots /> }.into_any(),
        Route::Lot(lot) => view! { <lots::Lot lot=lot /> }.into_any(),
        Route::Who => view! { <people::Who /> }.into_any(),
        Route::Job(place, key) => view! { <job::Job place=place key=key /> }.into_any(),
        Route::CarePlans => view! { <care_plan::CarePlans /> }.into_any(),
        Route::CarePlan(subject) => view! { <care_plan::CarePlan subject=subject /> }.into_any(),
        Route::CareJob(subject, slot) => view! { <care_job::CareJob subject=subject name=slot /> }.into_any(),
        Route::Coming(of) => view! { <coming::ComingDays of=of /> }.into_any(),
        Route::Week => view! { <week::Week /> }.into_any(),
        Route::Published => view! { <published::Published /> }.into_any(),
        Route::CalendarFile => view! { <calendar_file::CalendarFile /> }.into_any(),
        Route::Bulb(bulb) => view! { <bulb::Bulb bulb=bulb /> }.into_any(),
        Route::Look(bulb) => view! { <look::Look bulb=bulb /> }.into_any(),
        Route::MendLook(entry) => view! { <look::MendLook entry=entry /> }.into_any(),
        Route::EditBulb(bulb) => view! { <edit_bulb::EditBulb bulb=bulb /> }.into_any(),
        Route::SameBulb(bulb) => view! { <same_bulb::SameBulb bulb=bulb /> }.into_any(),
        Route::Call(bulb, shoot) => view! { <call::Call bulb=bulb shoot=shoot /> }.into_any(),
        Route::Calls => view! { <calls::Calls /> }.into_any(),
        Route::Practice => view! { <practice::Practice /> }.into_any(),
        Route::Measure(bulb, photo) => view! { <measure::Measure bulb=bulb photo=photo /> }.into_any(),
        Route::SideBySide(bulb) => view! { <side_by_side::SideBySide bulb=bulb /> }.into_any(),
        Route::Container(container) => view! { <container::Container container=container /> }.into_any(),
        Route::Potting(container) => view! { <potting::Potting container=container /> }.into_any(),
        Route::Record(entry) => view! { <record::Record entry=entry /> }.into_any(),
        Route::Scapes => view! { <scapes::Scapes /> }.into_any(),
        Route::Stock => view! { <stock::Stock /> }.into_any(),
        Route::Find => view! { <find::Find /> }.into_any(),
        Route::Files => view! { <files::Files /> }.into_any(),
        Route::TakeIn => view! { <take_in::TakeIn /> }.into_any(),
        Route::Tables => view! { <tables::Tables /> }.into_any(),
        Route::Evening => view! { <evening::Evening /> }.into_any(),
        Route::Storage => view! { <storage::Storage /> }.into_any(),
        Route::Knowledge(page) => view! { <knowledge::Knowledge page=page /> }.into_any(),
        Route::Words(term) => view! { <words::Words of=term /> }.into_any(),
        Route::Disagreements => view! { <disagreements::Disagreements /> }.into_any(),
        Route::Sheet(place) => view! { <sheet::Sheet place=place /> }.into_any(),
        Route::TypeIn(place) => view! { <type_in::TypeIn place=place /> }.into_any(),
        Route::People => view! { <people::People /> }.into_any(),
        Route::Trials => view! { <trials::Trials /> }.into_any(),
        Route::PlanBack(forcing) => view! { <plan::PlanBack forcing=forcing /> }.into_any(),
        Route::NewTrial => view! { <new_trial::NewTrial again=None /> }.into_any(),
        Route::Trial(trial) => view! { <trial::Trial trial=trial /> }.into_any(),
        Route::Again(trial) => view! { <new_trial::NewTrial again=Some(trial) /> }.into_any(),
        Route::TriesResult(trial) => view! { <tries_result::TriesResult trial=trial /> }.into_any(),
        Route::Run(run) => view! { <run::Run run=run /> }.into_any(),
        Route::Groups(run) => view! { <groups::Groups run=run /> }.into_any(),
        Route::Result(run) => view! { <result::Result run=run /> }.into_any(),
        Route::Show(run) => view! { <show::Show run=run /> }.into_any(),
        Route::Report(subject) => view! { <report::Report subject=subject /> }.into_any(),
        // Among the first; it only has to lead somewhere.
        Route::Due | Route::Places | Route::Start => view! { <due::Due /> }.into_any(),
    }
}

/// Whether a screen is among the first, there as soon as the app is.
pub(crate) fn is_first(route: &Route) -> bool {
    matches!(route, Route::Due | Route::Places | Route::Start)
}
