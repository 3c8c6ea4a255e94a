//! The time until the event: from the design's tasks to a chance, bars and the page for the meeting.

use super::list::ListFacts;
use super::{Folder, pages, stem};
use crate::failure::Failure;
use crate::preparation::wrong_input;
use job::{Design, Route, TimePlan};
use measure::STANDARD_GRAVITY;
use pan::Lattice;
use report::findings::{HoldsFact, RouteFact, TaskFact, TimeFacts, chance_said};
use report::pictures::{routes, time as bars};
use shop::time::{DAY, Date, Opening, Plan, PlanFault, RUNS};
use std::time::{SystemTime, UNIX_EPOCH};
use still::{RoundSpec, round_map};

/// Days after the last of the picture that are still named.
const SPARE: usize = 4;
/// No picture shows more days.
const MOST_DAYS: usize = 800;

/// Cells of the lattice on which spaces are found: walls are what matters here, not waves.
const CELLS: usize = 8_000;

/// Adds the plan; `None` when the design states no event.
pub fn make(design: &Design, list: &ListFacts, folder: &mut Folder) -> Result<Option<TimeFacts>, Failure> {
    let Some(stated) = &design.shop.time else {
        return Ok(None);
    };
    let today = stated.start.is_none().then(today);
    let start = stated.start.or(today).expect("one of the two is there");
    let facts = facts(design, stated, list, start, today.is_some())?;
    let size = design.shop.paper.size().map(|v| v * 1e3);
    let lying = [size[1], size[0]];
    if let Some(page) = routes::side_by_side(&design.name, &facts, lying) {
        pages::show(
            folder,
            "plan/routes",
            "the ways side by side, for the meeting",
            &page,
        )?;
    }
    let mut taken = Vec::new();
    for route in &facts.routes {
        let (path, what) = match route.name.as_str() {
            "" => (
                "plan/time".to_owned(),
                "when it will be done, and what decides".to_owned(),
            ),
            name => (
                format!("plan/time-{}", stem(name, &mut taken)),
                format!("when it will be done, {name}"),
            ),
        };
        pages::show(folder, &path, &what, &bars::bars(&facts, route, lying))?;
    }
    folder.said.push(facts.said.clone());
    Ok(Some(facts))
}

/// The day by the clock of this machine, in universal time.
fn today() -> Date {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0.0, |d| d.as_secs_f64());
    Date::from_days((since / DAY) as i64)
}

fn facts(
    design: &Design,
    stated: &TimePlan,
    list: &ListFacts,
    start: Date,
    by_clock: bool,
) -> Result<TimeFacts, Failure> {
    let opening = Opening {
        start,
        event: stated.event,
        opens: stated.opens,
        hours: stated.hours,
        rest: stated.rest.clone(),
        shut: stated.shut.clone(),
    };
    let wrong = |fault: PlanFault| refused(stated, start, fault);
    let whole = Plan::new(opening, stated.people.clone(), stated.tasks.clone()).map_err(wrong)?;
    let mut found = Vec::new();
    if stated.routes.is_empty() {
        found.push(route(&whole, "", None, None)?);
    }
    for r in &stated.routes {
        let plan = whole.only(&r.tasks).map_err(wrong)?;
        let mut fact = route(&plan, &r.name, Some(r), holds(design, r)?)?;
        if r.listed {
            let parts = list.bought + list.work;
            fact.cost = Some(fact.cost.unwrap_or_default().map(|c| c + parts));
        }
        found.push(fact);
    }
    let until = stated.event.since(start) as f64;
    let last = found.iter().map(|r| r.ready_days[2]).fold(until, f64::max).ceil() as usize;
    let mut counted = vec![
        format!(
            "Every duration is drawn from the triangle over its least, likely and most, {} times; the draws are the same every time.",
            RUNS
        ),
        "Who has two tasks at hand does first the one with more work behind it. A task with a person goes on only in working \
         hours; one without goes on day and night."
            .to_owned(),
        "Durations are taken as independent: a shop that is slow at one task is often slow at all, and then the chance lies nearer \
         to even than told."
            .to_owned(),
    ];
    if stated.routes.iter().any(|r| r.listed) {
        let names = (stated.routes.iter().filter(|r| r.listed)).map(|r| r.name.as_str());
        let mut said = format!(
            "The cost of {} holds the parts of list.csv, {:.0} {}",
            names.collect::<Vec<_>>().join(", "),
            list.bought + list.work,
            list.currency
        );
        if !list.without_price.is_empty() {
            said += &format!(
                ", without those that have no price: {}",
                list.without_price.join(", ")
            );
        }
        counted.push(said + ".");
    }
    if by_clock {
        counted.push(format!(
            "The design states no start: counted from today, {start}."
        ));
    }
    Ok(TimeFacts {
        said: said(&found, &stated.event.short()),
        start: start.to_string(),
        event: stated.event.to_string(),
        event_said: stated.event.short(),
        routes: found,
        counted,
        days: (0..(last + SPARE).min(MOST_DAYS))
            .map(|d| start.plus(d as i64).short())
            .collect(),
        until,
    })
}

fn refused(stated: &TimePlan, start: Date, fault: PlanFault) -> Failure {
    let task = |i: usize| {
        (
            format!("\"{}\"", stated.tasks[i].name),
            stated.task_places[i].to_string(),
        )
    };
    match fault {
        PlanFault::EventPast => Failure::input(
            format!("the event on {} is not after today, {start}", stated.event),
            format!("{}, shop.event.date", stated.place),
            "state the date of an event that lies ahead, or a start",
        ),
        PlanFault::NeverDone(i) => {
            let (name, place) = task(i);
            Failure::input(
                format!(
                    "the task {name} cannot be done within ten years: who does it is never there long enough"
                ),
                format!("{place}, shop.task {name}"),
                "look at rest, shut, away and hours",
            )
        }
        PlanFault::Durations(i) => {
            let (name, place) = task(i);
            Failure::input(
                format!("the durations of {name} do not rise"),
                format!("{place}, shop.task {name}.duration"),
                "write the least first and the most last",
            )
        }
        fault @ (PlanFault::NoTask | PlanFault::Loop(_)) => Failure::input(
            fault.to_string(),
            format!("{}, shop.event", stated.place),
            "look at the tasks and what they wait for",
        ),
    }
}

fn route(
    plan: &Plan,
    name: &str,
    stated: Option<&Route>,
    holds: Option<HoldsFact>,
) -> Result<RouteFact, Failure> {
    let forecast = plan
        .forecast(RUNS)
        .map_err(|fault| Failure::computing(fault.to_string(), "look at the durations"))?;
    let days = |t: [f64; 3]| t.map(|t| t / DAY);
    let reach = (forecast.ready[2] / DAY).ceil() as usize + 40;
    let mut tasks: Vec<TaskFact> = (plan.tasks().iter().zip(&forecast.tasks))
        .map(|(task, f)| TaskFact {
            name: task.name.clone(),
            who: task.who.map_or(String::new(), |p| plan.people()[p].name.clone()),
            start: days(f.start),
            end: days(f.end),
            decides: f.decides,
            delay: f.delay / DAY,
            away: task.who.map_or(Vec::new(), |p| {
                let there = |d: &usize| !plan.works(p, plan.opening().start.plus(*d as i64));
                (0..reach).filter(there).collect()
            }),
        })
        .collect();
    tasks.sort_by(|a, b| {
        a.start[1]
            .total_cmp(&b.start[1])
            .then(a.end[1].total_cmp(&b.end[1]))
    });
    let ready = forecast.ready.map(|t| plan.day_of(t).short());
    let mut deciding: Vec<&TaskFact> = tasks.iter().filter(|t| t.decides_often()).collect();
    deciding.sort_by(|a, b| routes::weight(b).total_cmp(&routes::weight(a)));
    let named: Vec<&str> = deciding.iter().take(3).map(|t| t.name.as_str()).collect();
    let decided = match named[..] {
        [] => "No task decides in more than half of the runs.".to_owned(),
        _ => format!("What decides: {}.", named.join(", ")),
    };
    let error = match forecast.chance {
        c if c > 0.005 && c < 0.995 => format!(
            ", known to {:.1} % by {} draws",
            100.0 * forecast.error,
            forecast.runs
        ),
        _ => format!(", by {} draws", forecast.runs),
    };
    Ok(RouteFact {
        name: name.to_owned(),
        said: format!(
            "All done before {} with a chance of {}{error}; half of the runs are done by {}, nine in ten by {}. {decided}",
            plan.opening().event.short(),
            chance_said(forecast.chance),
            ready[1],
            ready[2]
        ),
        chance: forecast.chance,
        error: forecast.error,
        runs: forecast.runs,
        ready,
        ready_days: days(forecast.ready),
        tasks,
        holds,
        cost: stated.and_then(|r| r.cost).map(|c| c.to_array()),
        risk: stated.map_or(String::new(), |r| r.risk.clone()),
        rules: stated.map_or(String::new(), |r| r.rules.clone()),
    })
}

/// What a way holds: as stated, or by oil at rest in the design that it names.
fn holds(own: &Design, route: &Route) -> Result<Option<HoldsFact>, Failure> {
    if let Some(held) = route.holds {
        return Ok(Some(HoldsFact {
            from: Some(held),
            to: Some(held),
            said: "as stated".to_owned(),
        }));
    }
    let Some(file) = &route.design else {
        return Ok(None);
    };
    let design = job::read(&file.path).map_err(wrong_input)?;
    let turned = design.installation.pan_from_car();
    let cannot = |what: String| {
        Failure::input(
            format!("what the way \"{}\" holds cannot be told: {what}", route.name),
            route.place.to_string(),
            "mend that design, or state holds",
        )
    };
    let volume =
        (design.circuit.pan_at(design.engine.redline, design.fill)).map_err(|f| cannot(f.to_string()))?;
    let cell = Lattice::choose_cell(&design.pan, CELLS).cell;
    let lattice = Lattice::build(&design.pan, cell).map_err(|f| cannot(f.to_string()))?;
    let spec = RoundSpec {
        directions: 32,
        rings: 20,
        most_g: 2.0,
        vertical: 0.0,
    };
    let map =
        round_map(&design.pan, Some(&lattice), turned, volume, &spec).map_err(|f| cannot(f.to_string()))?;
    let least = |dry: &[Option<f64>]| dry.iter().flatten().copied().min_by(f64::total_cmp);
    let g = |v: Option<f64>| v.map(|g| g * STANDARD_GRAVITY);
    let (long, instant) = (least(&map.first_dry_long), least(&map.first_dry_instant));
    // Without walls both are the same pool of oil.
    let (from, to) = match (long, instant) {
        (Some(a), Some(b)) => (Some(a.min(b)), Some(a.max(b))),
        (Some(a), None) => (Some(a), None),
        (None, other) => (other, None),
    };
    let told = |v: Option<f64>| v.map_or(format!("more than {:.0} g", spec.most_g), |g| format!("{g:.2} g"));
    Ok(Some(HoldsFact {
        from: g(from),
        to: g(to),
        said: format!(
            "oil at rest: {} if it finds its level through every gap, {} if each space keeps its own ({} with {})",
            told(long),
            told(instant),
            if design.name == own.name {
                "this design"
            } else {
                design.name.as_str()
            },
            measure::show(design.fill, measure::Dimension::Volume, own.units)
        ),
    }))
}

/// All ways in a sentence.
fn said(routes: &[RouteFact], event: &str) -> String {
    if let [one] = routes {
        return one.said.clone();
    }
    let chances: Vec<String> = routes
        .iter()
        .map(|r| format!("{} {}", r.name, chance_said(r.chance)))
        .collect();
    let mut said = format!("Ready before {event}: {}.", chances.join(", "));
    // One holds most when the least of it is more than the most of every other.
    let end = |v: Option<f64>| v.unwrap_or(f64::INFINITY);
    let over = |a: &RouteFact, b: &RouteFact| match (&a.holds, &b.holds) {
        (Some(a), Some(b)) => end(a.from) > end(b.to),
        _ => false,
    };
    let most = (0..routes.len()).find(|&i| (0..routes.len()).all(|j| i == j || over(&routes[i], &routes[j])));
    if let Some(most) = most {
        said += &format!(" Most is held by: {}.", routes[most].name);
    }
    let cost = |r: &RouteFact| r.cost.map_or(f64::INFINITY, |c| c[1]);
    if routes.iter().all(|r| r.cost.is_some())
        && let Some(least) = routes.iter().min_by(|a, b| cost(a).total_cmp(&cost(b)))
    {
        said += &format!(" Costs least: {}.", least.name);
    }
    said
}
