//! Tells a script day by day.

use std::collections::BTreeMap;

use super::{
    Demo,
    phones::Phones,
    script::{Care, Job, Reading, Said, Script},
    steps::{Step, steps},
};
use crate::{
    calendar::Date,
    call::{self, Character, Choice},
    care::usual_jobs,
    error::{Error, Result},
    ledger::{
        body::{
            Act, ActKind, Body, Call, CareJob, Climate, ContainerBody, ContainerKind, Cover, DueWindow, Finding, Goal,
            Inspection, LeftHow, Light, LightOf, Linked, LotBody, Note, NurseryBody, Person, Photo, PlaceBody, Proof,
            Rule, ShootKind, Shown, Test, Unit,
        },
        id::{Id, Ids, Noun},
        shelf::Attachment,
    },
    nursery::walk::present_unsure,
    record::{Allot, Circumference, Command, LotChoice, NewBulbs, PlanTry, TrialChoice},
    refusal::ScriptRefusal,
    sketch::{Pose, bulb_side},
    trial::ready::Ready,
};

const PHOTO_WIDTH_PX: u32 = 480;
const PHOTO_HEIGHT_PX: u32 = 800;

pub(super) fn tell(script: &Script, ids: Ids, today: Date) -> Result<Demo> {
    let first_day = today.add_days(script.began)?;
    let phone_of_each: Vec<usize> = script.people.iter().map(|person| person.phone).collect();
    let mut teller = Teller {
        script,
        phones: Phones::new(ids, first_day, &phone_of_each),
        places: BTreeMap::new(),
        bulbs: BTreeMap::new(),
        groups: BTreeMap::new(),
        n_leaves: BTreeMap::new(),
        photos: Vec::new(),
        n_told: 0,
    };
    teller.begin()?;
    let mut steps = steps(script);
    // What is not yet is not told: the last day is yesterday.
    steps.retain(|(day, _)| *day < 0);
    steps.sort();
    for (day, step) in steps {
        teller.phones.on(today.add_days(day)?);
        teller.n_told += 1;
        teller.step(day, step)?;
    }
    // Said last, so that everything told before keeps its name.
    teller.where_it_lies()?;
    Ok(Demo {
        ledger: teller.phones.ledger.id(),
        persons: teller.phones.writers.iter().map(|w| w.who).collect(),
        entries: teller.phones.ledger.arrived().to_vec(),
        photos: teller.photos,
    })
}

struct Teller<'a> {
    script: &'a Script,
    phones: Phones,
    places: BTreeMap<&'a str, Id>,
    bulbs: BTreeMap<&'a str, Vec<Id>>,
    /// Bulbs of each group of each try, in the order of the script's lives.
    groups: BTreeMap<usize, Vec<Vec<Id>>>,
    n_leaves: BTreeMap<Id, usize>,
    photos: Vec<Attachment>,
    n_told: usize,
}

impl Teller<'_> {
    fn step(&mut self, day: i64, step: Step) -> Result<()> {
        let script = self.script;
        let since = |t: usize| day - script.tries[t].start;
        match step {
            Step::Lot(at) => self.lot(at),
            Step::Begin(t) => self.begin_try(t),
            Step::Job(t, j) => self.job(t, &script.tries[t].jobs[j]),
            Step::Sweep(t) => self.sweep(t),
            Step::Look(t) => self.look(t, since(t)),
            Step::Watch(t, g, l) => self.watch(t, g, l),
            Step::Call(t, g, l) => self.call(t, g, l, since(t)),
            Step::Photo(t, g, l) => self.photo(t, g, l),
            Step::Fit(t, g, l) => {
                let about = vec![self.bulb(t, g, l)?];
                self.act(ActKind::FitToSell, Act::default(), about)
            }
            Step::Gone(t, g, l) => self.gone(t, g, l, since(t)),
            Step::Reading(at) => self.reading(&script.readings[at]),
            Step::Care(at) => self.care(&script.care[at]),
            Step::Said(t, n) => self.said(t, &script.tries[t].said[n]),
            Step::Disagree => self.disagree(),
            Step::Close(t) => {
                let run = self.run_of(t)?;
                self.record(Command::CloseRun { run, on: None })
            }
        }
    }

    /// Records as whoever's turn it is.
    fn record(&mut self, command: Command) -> Result<()> {
        let person = self.n_told % self.script.people.len().max(1);
        self.phones.record(person, command)
    }

    fn set(&mut self, subject: Id, body: Body) -> Result<()> {
        self.record(Command::Set { subject, slot: String::new(), body })
    }

    fn where_it_lies(&mut self) -> Result<()> {
        if self.script.latitude_decideg.is_none() {
            return Ok(());
        }
        let (name, latitude_decideg) = (self.script.nursery.clone(), self.script.latitude_decideg);
        self.set(self.phones.ledger.id(), Body::Nursery(NurseryBody { name, latitude_decideg }))
    }

    fn observe(&mut self, about: Vec<Id>, body: Body) -> Result<()> {
        self.record(Command::Observe { about, body, on: None })
    }

    fn act(&mut self, kind: ActKind, act: Act, about: Vec<Id>) -> Result<()> {
        self.record(Command::Do { kind, act, about, on: None })
    }

    fn place(&self, name: &str) -> Result<Id> {
        let place = self.places.get(name).copied();
        place.ok_or_else(|| Error::new(ScriptRefusal::NoPlace(name.to_owned())))
    }

    /// The bulb that lives this life.
    fn bulb(&self, t: usize, g: usize, l: usize) -> Result<Id> {
        let bulbs = self.groups.get(&t).and_then(|groups| groups.get(g));
        let bulb = bulbs.and_then(|bulbs| bulbs.get(l)).copied();
        bulb.ok_or_else(|| Error::new(ScriptRefusal::MoreLives))
    }

    /// Bulbs of a try, or of one group, that are here.
    fn here(&self, t: usize, group: Option<usize>) -> Vec<Id> {
        let groups = self.groups.get(&t).into_iter().flatten().enumerate();
        let wanted = groups.filter(|(g, _)| group.is_none_or(|group| group == *g));
        let ids = wanted.flat_map(|(_, bulbs)| bulbs).copied();
        let is_here = |id: &Id| self.phones.state.bulb(id).is_some_and(|b| b.is_here());
        ids.filter(is_here).collect()
    }

    fn is_resting(&self, id: Id) -> bool {
        let bulb = self.phones.state.bulb(&id);
        bulb.is_some_and(|bulb| bulb.cycle().resting())
    }

    fn begin(&mut self) -> Result<()> {
        let script = self.script;
        let persons: Vec<Id> = self.phones.writers.iter().map(|w| w.who).collect();
        for (n, person) in script.people.iter().enumerate() {
            let initials = person.initials.clone();
            if n == 0 {
                self.record(Command::Start { name: script.nursery.clone(), person: persons[0], initials })?;
            } else {
                let name = String::new();
                self.set(persons[n], Body::Person(Person { initials, name }))?;
            }
        }
        for place in &script.places {
            let id = self.phones.ids.draw(Noun::Place);
            self.places.insert(place.name.as_str(), id);
            self.set(id, Body::Place(place_body(place, None)))?;
        }
        Ok(())
    }

    fn lot(&mut self, at: usize) -> Result<()> {
        let lot = &self.script.lots[at];
        let mut containers = Vec::new();
        if let Some(name) = &lot.trough {
            let id = self.phones.ids.draw(Noun::Container);
            let body = ContainerBody {
                name: name.clone(),
                inner_width_mm: Some(600),
                inner_height_mm: Some(180),
                ..ContainerBody::of(ContainerKind::Trough)
            };
            self.set(id, Body::Container(body))?;
            containers.push((id, lot.sizes_mm.len()));
        }
        let body = LotBody {
            name: lot.name.clone(),
            cultivar: lot.cultivar.clone(),
            supplier: String::new(),
            grade: lot.grade.clone(),
            received: Some(self.phones.today()),
            apart_until: None,
        };
        let known: Vec<Id> = self.phones.state.bulbs.keys().copied().collect();
        let n_before = self.phones.ledger.len();
        self.record(Command::AddBulbs(NewBulbs {
            lot: LotChoice::New(body),
            n_bulbs: lot.sizes_mm.len(),
            circumference: Circumference::Each(lot.sizes_mm.clone()),
            place: self.place(&lot.place)?,
            own_names: lot.own_names.clone(),
            containers,
        }))?;
        let new = self.phones.ledger.arrived()[n_before..].iter();
        let bulbs = new
            .filter(|entry| matches!(entry.body, Body::Bulb(_)))
            .flat_map(|entry| entry.envelope.about.iter().copied())
            .filter(|id| !known.contains(id));
        let bulbs: Vec<Id> = bulbs.collect();
        for (offset, mother) in &lot.offsets {
            let (Some(offset), Some(mother)) = (bulbs.get(*offset), bulbs.get(*mother)) else {
                return Err(Error::new(ScriptRefusal::NoOffset));
            };
            let link = Linked { to: *mother, note: None };
            self.record(Command::Link { about: *offset, body: Body::OffsetOf(link) })?;
        }
        self.bulbs.insert(lot.name.as_str(), bulbs);
        Ok(())
    }

    fn begin_try(&mut self, t: usize) -> Result<()> {
        let told = &self.script.tries[t];
        let ready = Ready::from_key(&told.ready).ok_or_else(|| Error::new(ScriptRefusal::NoQuestion))?;
        let units = self.bulbs.get(told.lot.as_str()).cloned();
        let units = units.ok_or_else(|| Error::new(ScriptRefusal::NoLot))?;
        let start = self.phones.today();
        let sizes: Vec<usize> = told.lives.iter().map(Vec::len).collect();
        let seed = self.phones.ids.bytes();
        let trials = &self.phones.state.trials;
        let known = trials
            .iter()
            .find(|(_, trial)| trial.question.shown().is_some_and(|question| question.ready == told.ready));
        let trial = known.map_or_else(
            || TrialChoice::New {
                text: told.question.clone(),
                ready: told.ready.clone(),
                factors: vec![ready.factor(&told.factor)],
                groups: ready.group_plans(&told.factor, told.groups.iter().cloned()),
            },
            |(trial, _)| TrialChoice::Again(*trial),
        );
        let window = DueWindow {
            name: told.due.clone(),
            from: start.add_days(told.window.0)?,
            to: start.add_days(told.window.1)?,
        };
        let rule = Rule {
            goal: ready.goal,
            stage: ready.stage,
            unit: Unit::Bulb,
            died: ready.died,
            test: Test::None,
            family: None,
        };
        if rule.goal == Goal::By && window.from != window.to {
            return Err(Error::new(ScriptRefusal::NoDeadline));
        }
        let before: Vec<Id> = self.phones.state.runs.keys().copied().collect();
        self.record(Command::PlanTry(Box::new(PlanTry {
            trial,
            start,
            look_interval_days: ready.look_interval_days,
            rule,
            window,
            units,
            allot: Allot::Draw { seed, sizes, classes: told.classes },
            begin: true,
            finished: None,
            counted: None,
            jobs: Vec::new(),
            said: None,
        })))?;
        let mut runs = self.phones.state.runs.iter();
        let run = runs.find(|(id, _)| !before.contains(id));
        let allotment = run.and_then(|(_, run)| run.allotment.settled());
        let allotment = allotment.ok_or_else(|| Error::new(ScriptRefusal::NoDraw))?;
        let mut groups = vec![Vec::new(); allotment.groups.len()];
        for (unit, arm) in allotment.units.iter().zip(&allotment.arms) {
            groups[*arm as usize].push(*unit);
        }
        self.groups.insert(t, groups);
        Ok(())
    }

    fn run_of(&self, t: usize) -> Result<Id> {
        let bulb = self.bulb(t, 0, 0)?;
        let mut runs = self.phones.state.runs.iter();
        let run = runs.find(|(_, run)| run.units().contains(&bulb));
        run.map(|(id, _)| *id).ok_or_else(|| Error::new(ScriptRefusal::NotBegun))
    }

    fn job(&mut self, t: usize, job: &Job) -> Result<()> {
        let about = self.here(t, job.group);
        if job.act == "inspected" {
            return self.observe(about, inspection(Finding::Firm, false));
        }
        let kind = ActKind::from_word(&job.act).ok_or_else(|| Error::new(ScriptRefusal::NoJob(job.act.clone())))?;
        let place = job.place.as_deref().map(|name| self.place(name));
        let act = Act { place: place.transpose()?, with: job.with.clone(), ..Act::default() };
        self.act(kind, act, about)
    }

    fn sweep(&mut self, t: usize) -> Result<()> {
        let bulbs: Vec<Id> = self.here(t, None).into_iter().filter(|id| self.is_resting(*id)).collect();
        let place = bulbs.first().and_then(|id| self.phones.state.bulb(id)?.place);
        let place = place.ok_or_else(|| Error::new(ScriptRefusal::NothingRests))?;
        self.record(Command::Sweep { place, bulbs, on: None })
    }

    fn look(&mut self, t: usize, day: i64) -> Result<()> {
        let script = self.script;
        let mut looks = Vec::new();
        let mut proofs = Vec::new();
        for (g, lives) in script.tries[t].lives.iter().enumerate() {
            for (l, life) in lives.iter().enumerate() {
                let id = self.bulb(t, g, l)?;
                let Some(bulb) = self.phones.state.bulb(&id) else {
                    continue;
                };
                if !bulb.is_here() || bulb.cycle().resting() || life.unseen.contains(&day) {
                    continue;
                }
                let n_before = self.n_leaves.get(&id).copied().unwrap_or(0);
                let look = life.look(day, n_before, bulb, bulb.place, &mut self.phones.ids);
                self.n_leaves.insert(id, life.n_leaves(day));
                // A shoot that was called and is known by now proves the call.
                let unsure = present_unsure(bulb.cycle()).filter(|shoot| shoot.call.is_some());
                let known = unsure.and_then(|shoot| {
                    let seen = look.shoots.iter().find(|seen| seen.id == shoot.id)?;
                    (seen.kind != ShootKind::Unknown).then_some((id, shoot.id, seen.kind))
                });
                proofs.extend(known);
                looks.push((id, look));
            }
        }
        self.record(Command::Look { looks, on: None })?;
        for (about, shoot, kind) in proofs {
            let body = Body::Proof(Proof { shoot, kind });
            self.record(Command::Link { about, body })?;
        }
        Ok(())
    }

    fn watch(&mut self, t: usize, g: usize, l: usize) -> Result<()> {
        let about = vec![self.bulb(t, g, l)?];
        match &self.script.tries[t].lives[g][l].watch {
            Some((_, finding)) => self.observe(about, inspection(*finding, true)),
            None => Ok(()),
        }
    }

    fn call(&mut self, t: usize, g: usize, l: usize, day: i64) -> Result<()> {
        let life = &self.script.tries[t].lives[g][l];
        let id = self.bulb(t, g, l)?;
        let no_shoot = || Error::new(ScriptRefusal::NoShoot);
        let bulb = self.phones.state.bulb(&id).ok_or_else(no_shoot)?;
        let shoot = present_unsure(bulb.cycle()).ok_or_else(no_shoot)?;
        let known =
            |(question, answer): &(String, String)| Some((Character::from_key(question)?, Choice::from_key(answer)?));
        let said = life.call.iter().flat_map(|call| &call.answers);
        let answers: Option<Vec<call::Answered>> = said.map(known).collect();
        let answers = answers.ok_or_else(|| Error::new(ScriptRefusal::NoAnswer))?;
        let situation = call::Situation {
            leaves_show: life.n_leaves(day) > 0,
            height_mm: shoot.height_mm,
            days_since_first_look: Some(shoot.since.days_until(self.phones.today())),
            size_known: bulb.circumference_mm.is_some(),
            expected_permille: None,
        };
        let shoot = shoot.id;
        let today = self.phones.today();
        let reading = call::read(&call::Table::start(), &situation, &answers, today)?;
        let body = Body::Call(Call {
            shoot,
            answers: call::key::recorded(&answers),
            scape_permille: reading.stalk_permille,
            method: call::METHOD.to_owned(),
            again: reading.again,
        });
        self.observe(vec![id], body)
    }

    fn photo(&mut self, t: usize, g: usize, l: usize) -> Result<()> {
        let id = self.bulb(t, g, l)?;
        let pose = self.phones.state.bulb(&id).map(Pose::of);
        let svg = bulb_side(pose.unwrap_or_default()).to_svg(PHOTO_WIDTH_PX);
        let picture = Attachment::of(svg.into_bytes());
        let photo = Photo {
            hash: picture.hash(),
            thumb: None,
            media: "image/svg+xml".to_owned(),
            n_bytes: picture.bytes().len() as u64,
            width_px: PHOTO_WIDTH_PX,
            height_px: PHOTO_HEIGHT_PX,
            drawn: true,
        };
        if !self.photos.contains(&picture) {
            self.photos.push(picture);
        }
        self.observe(vec![id], Body::Photo(photo))
    }

    fn gone(&mut self, t: usize, g: usize, l: usize, day: i64) -> Result<()> {
        let life = &self.script.tries[t].lives[g][l];
        let about = vec![self.bulb(t, g, l)?];
        if let Some((_, cause)) = &life.died {
            let act = Act { cause: Some(cause.clone()), ..Act::default() };
            return self.act(ActKind::Died, act, about);
        }
        if life.missing.is_some() {
            return self.act(ActKind::Missing, Act::default(), about);
        }
        let act = Act {
            how: Some(LeftHow::Sold),
            stage: life.stage(day),
            fit: true,
            whom: Some("market stall".to_owned()),
            ..Act::default()
        };
        self.act(ActKind::Left, act, about)
    }

    fn reading(&mut self, reading: &Reading) -> Result<()> {
        let place = self.place(&reading.place)?;
        if let Some((temperature_dc, humidity_percent)) = reading.climate {
            // A few tenths up and down, the same every time.
            let sway = (self.n_told as i64 * 7) % 9 - 4;
            let climate = Climate {
                temperature_dc: Some(temperature_dc + sway),
                humidity_percent: Some(humidity_percent - sway / 2),
                ..Climate::default()
            };
            self.observe(vec![place], Body::Climate(climate))?;
        }
        if let Some(lux) = reading.lux {
            let of = reading.open_lux.map(|_| LightOf::Sun);
            let light = Light { lux: Some(lux), open_lux: reading.open_lux, of, ..Light::default() };
            self.observe(vec![place], Body::Light(light))?;
        }
        match &reading.note {
            Some(text) => self.observe(vec![place], Body::Note(Note { text: text.clone() })),
            None => Ok(()),
        }
    }

    fn care(&mut self, care: &Care) -> Result<()> {
        let usual = usual_jobs::USUAL.iter().find(|job| job.key == care.usual);
        let usual = usual.ok_or_else(|| Error::new(ScriptRefusal::NotUsual))?;
        let writers = &self.phones.writers;
        let person = care.person.and_then(|at| writers.get(at)).map(|w| w.who);
        let job = CareJob { words: care.words.clone(), person, ..usual.job() };
        self.record(Command::Set {
            subject: self.phones.ledger.id(),
            slot: usual.key.to_owned(),
            body: Body::CarePlan(job),
        })
    }

    fn said(&mut self, t: usize, said: &Said) -> Result<()> {
        let mut about = vec![self.run_of(t)?];
        for (g, l) in &said.bulbs {
            about.push(self.bulb(t, *g, *l)?);
        }
        let digest = self.phones.ledger.digest();
        let body = Shown {
            what: said.what.clone(),
            method: said.method.clone(),
            digest: digest.iter().map(|b| format!("{b:02x}")).collect(),
            numbers: said.numbers.clone(),
        };
        self.observe(about, Body::Shown(body))
    }

    fn disagree(&mut self) -> Result<()> {
        let said = &self.script.disagreement;
        let subject = self.place(&said.place)?;
        let place = self.script.places.iter().find(|place| place.name == said.place);
        let place = place.ok_or_else(|| Error::new(ScriptRefusal::NoPlace(said.place.clone())))?;
        let set = |blocks_percent: u32| Command::Set {
            subject,
            slot: String::new(),
            body: Body::Place(place_body(place, Some(blocks_percent))),
        };
        let writers = &self.phones.writers;
        let other = writers.iter().position(|w| w.phone != writers[0].phone);
        let other = other.ok_or_else(|| Error::new(ScriptRefusal::OnePhone))?;
        let (one, two) = said.blocks_percent;
        self.phones.record_apart((0, set(one)), (other, set(two)))
    }
}

fn place_body(place: &super::script::Place, blocks_percent: Option<u32>) -> PlaceBody {
    let covers = place
        .cover
        .iter()
        .map(|(what, blocks)| Cover { what: what.clone(), blocks_percent: blocks_percent.unwrap_or(*blocks) });
    PlaceBody { name: place.name.clone(), kind: place.kind, covers: covers.collect(), given_up: false }
}

fn inspection(finding: Finding, watch: bool) -> Body {
    Body::Inspection(Inspection { findings: vec![finding], watch, ..Inspection::default() })
}
