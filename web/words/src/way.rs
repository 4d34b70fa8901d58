//! What a screen is called on the way back to it: *‹ Bench 2*.

use bloomdue_core::{ledger::id::Id, nursery::State};

use crate::{
    bulb, care, coming, common, due, evening, files, glossary, labels, places, plan, published, records, report,
    route::Route, same, show, stock, tables, trials, walk,
};

labels! {
    question = "The try";
    groups = "The groups";
    week = "The week";
    calendar = "Calendar file";
    lots = "Lots";
    job = "The job";
    sheet = "Walk sheet";
    look = "The look";
    start = "First screen";
    several = "Several bulbs";
    container = "Container";
    result = "Result";
    all_tries = "All tries";
    walk_in = "Walk";
    who = "Who records";
    call = "Stalk or leaf";
    measure = "Measuring";
    side_by_side = "Side by side";
    edit = "Names";
}

/// The name of a screen, short enough for the head of another one.
pub fn name(route: &Route, state: &State) -> String {
    let of = |id: &Id, otherwise: &str| match state.name_of(*id) {
        "" => otherwise.to_owned(),
        name => name.to_owned(),
    };
    let fixed = match route {
        Route::Due => due::due_word(),
        Route::Job(..) => job(),
        Route::CarePlans | Route::CarePlan(_) | Route::CareJob(..) => due::care_plans(),
        Route::Coming(_) => coming::title(),
        Route::Week => week(),
        Route::CalendarFile => calendar(),
        Route::Published => published::title(),
        Route::Places => common::places_word(),
        Route::NewPlace => places::new_place(),
        Route::Place(id) | Route::EditPlace(id) | Route::AddBulbs(id) => return of(id, common::places_word()),
        Route::Light(_) => crate::light::title(),
        Route::Walk(_) => walk_in(),
        Route::Several(_) => several(),
        Route::Labels(_) => labels::title(),
        Route::Scan => labels::scan(),
        Route::Lots => lots(),
        Route::Lot(id) => return of(id, lots()),
        Route::Who => who(),
        Route::Sheet(_) | Route::TypeIn(_) => sheet(),
        Route::Bulb(id) => return of(id, common::places_word()),
        Route::Look(_) | Route::MendLook(_) => look(),
        Route::EditBulb(_) => edit(),
        Route::SameBulb(_) => same::title(),
        Route::Call(..) => call(),
        Route::Calls => crate::call::good_title(),
        Route::Practice => crate::call::practice(),
        Route::Measure(..) => measure(),
        Route::SideBySide(_) => side_by_side(),
        Route::Container(_) => container(),
        Route::Potting(_) => crate::potting::title(),
        Route::Care(..) | Route::CareForm(..) | Route::JobForm(..) => care::what_was_done(),
        Route::Trouble(..) => walk::trouble(),
        Route::Record(_) => records::record(),
        Route::Find => bulb::find_title(),
        Route::Stock => stock::title(),
        Route::Scapes => crate::scapes::title(),
        Route::Trials => trials::trials(),
        Route::PlanBack(_) => plan::title(),
        Route::NewTrial => trials::ask(),
        Route::Trial(id) | Route::Again(id) => return of(id, trials::trials()),
        Route::TriesResult(_) => all_tries(),
        Route::Run(_) => question(),
        Route::Groups(_) => groups(),
        Route::Result(_) => result(),
        Route::Report(_) => report::title(),
        Route::Show(_) => show::title(),
        Route::Files => files::files_word(),
        Route::TakeIn => files::take_in(),
        Route::People => files::people(),
        Route::Storage => files::storage(),
        Route::Evening => evening::title(),
        Route::Tables => tables::title(),
        Route::Disagreements => files::disagreements(),
        Route::Knowledge(_) => crate::knowledge::title(),
        Route::Words(_) => glossary::title(),
        Route::Start => start(),
    };
    fixed.to_owned()
}
