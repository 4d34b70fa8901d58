//! One file a screen. A screen asks core and words; it computes nothing and builds no entry.

pub(crate) mod add_bulbs;
pub(crate) mod bulb;
pub(crate) mod calendar_file;
pub(crate) mod call;
pub(crate) mod care;
pub(crate) mod care_job;
mod care_plan;
pub(crate) mod coming;
pub(crate) mod container;
pub(crate) mod disagreements;
pub(crate) mod due;
pub(crate) mod edit_bulb;
pub(crate) mod files;
pub(crate) mod find;
pub(crate) mod first;
pub(crate) mod groups;
pub(crate) mod job;
pub(crate) mod look;
pub(crate) mod new_trial;
pub(crate) mod people;
pub(crate) mod place;
pub(crate) mod place_form;
pub(crate) mod places;
mod plan;
pub(crate) mod record;
pub(crate) mod report;
pub(crate) mod result;
pub(crate) mod run;
pub(crate) mod same_bulb;
pub(crate) mod second;
pub(crate) mod sheet;
pub(crate) mod show;
pub(crate) mod storage;
pub(crate) mod take_in;
pub(crate) mod trial;
pub(crate) mod trials;
pub(crate) mod tries_result;
pub(crate) mod type_in;
pub(crate) mod walk;
pub(crate) mod week;

use bloomdue_views::view;

use crate::app::route::Route;
use crate::device::view::Made;

/// The screen at an address.
pub(crate) fn screen(route: &Route) -> Made {
    match route.clone() {
        Route::Due => view! { <due::Due /> },
        Route::Places => view! { <places::Places /> },
        Route::Start => view! { <first::First /> },
        later => second::screen(later),
    }
}

/// The screens that the first ones can do without; only [`second`] calls this.
fn later_screen(route: Route) -> Made {
    match route {
        Route::NewPlace => view! { <place_form::PlaceForm place=None /> },
        Route::EditPlace(place) => view! { <place_form::PlaceForm place=Some(place) /> },
        Route::Place(place) => view! { <place::Place place=place /> },
        Route::AddBulbs(place) => view! { <add_bulbs::AddBulbs place=place /> },
        Route::Walk(place) => view! { <walk::Walk place=place /> },
        Route::Care(subject, group) => {
            view! { <care::Care subject=subject group=group /> }
        }
        Route::Job(place, key) => view! { <job::Job place=place key=key /> },
        Route::CarePlans => view! { <care_plan::CarePlans /> },
        Route::CarePlan(subject) => view! { <care_plan::CarePlan subject=subject /> },
        Route::CareJob(subject, slot) => {
            view! { <care_job::CareJob subject=subject name=slot /> }
        }
        Route::Coming(of) => view! { <coming::ComingDays of=of /> },
        Route::Week => view! { <week::Week /> },
        Route::CalendarFile => view! { <calendar_file::CalendarFile /> },
        Route::Bulb(bulb) => view! { <bulb::Bulb bulb=bulb /> },
        Route::Look(bulb) => view! { <look::Look bulb=bulb /> },
        Route::MendLook(entry) => view! { <look::MendLook entry=entry /> },
        Route::EditBulb(bulb) => view! { <edit_bulb::EditBulb bulb=bulb /> },
        Route::SameBulb(bulb) => view! { <same_bulb::SameBulb bulb=bulb /> },
        Route::Call(bulb, shoot) => view! { <call::Call bulb=bulb shoot=shoot /> },
        Route::Container(container) => {
            view! { <container::Container container=container /> }
        }
        Route::Record(entry) => view! { <record::Record entry=entry /> },
        Route::Find => view! { <find::Find /> },
        Route::Files => view! { <files::Files /> },
        Route::TakeIn => view! { <take_in::TakeIn /> },
        Route::Storage => view! { <storage::Storage /> },
        Route::Disagreements => view! { <disagreements::Disagreements /> },
        Route::Sheet(place) => view! { <sheet::Sheet place=place /> },
        Route::TypeIn(place) => view! { <type_in::TypeIn place=place /> },
        Route::People => view! { <people::People /> },
        Route::Trials => view! { <trials::Trials /> },
        Route::PlanBack(forcing) => view! { <plan::PlanBack forcing=forcing /> },
        Route::NewTrial => view! { <new_trial::NewTrial again=None /> },
        Route::Trial(trial) => view! { <trial::Trial trial=trial /> },
        Route::Again(trial) => view! { <new_trial::NewTrial again=Some(trial) /> },
        Route::TriesResult(trial) => view! { <tries_result::TriesResult trial=trial /> },
        Route::Run(run) => view! { <run::Run run=run /> },
        Route::Groups(run) => view! { <groups::Groups run=run /> },
        Route::Result(run) => view! { <result::Result run=run /> },
        Route::Show(run) => view! { <show::Show run=run /> },
        Route::Report(subject) => view! { <report::Report subject=subject /> },
        // Among the first; it only has to lead somewhere.
        Route::Due | Route::Places | Route::Start => view! { <due::Due /> },
    }
}

/// Whether a screen is among the first, there as soon as the app is.
pub(crate) fn is_first(route: &Route) -> bool {
    matches!(route, Route::Due | Route::Places | Route::Start)
}
