use super::*;
use proptest::prelude::*;

const HOUR: f64 = 3600.0;

fn date(text: &str) -> Date {
    text.parse().expect("a date")
}

/// A shop that works round the clock, so that hours of work are hours of the clock.
fn always(start: &str, event: &str) -> Opening {
    Opening {
        start: date(start),
        event: date(event),
        opens: 0.0,
        hours: DAY,
        rest: Vec::new(),
        shut: Vec::new(),
    }
}

fn person(name: &str) -> Person {
    Person {
        name: name.to_owned(),
        hours: None,
        away: Vec::new(),
    }
}

fn task(name: &str, who: Option<usize>, after: &[usize], hours: [f64; 3]) -> Task {
    let [least, likely, most] = hours.map(|h| h * HOUR);
    Task {
        name: name.to_owned(),
        who,
        after: after.to_vec(),
        duration: Duration { least, likely, most },
    }
}

fn sure(name: &str, who: Option<usize>, after: &[usize], hours: f64) -> Task {
    task(name, who, after, [hours; 3])
}

fn likely(plan: &Plan) -> Run {
    let durations: Vec<f64> = plan.tasks().iter().map(|t| t.duration.likely).collect();
    plan.run(&durations).unwrap()
}

/// Julian day 2 451 545 begins at noon of 2000-01-01 (the epoch J2000.0, IAU); 1970-01-01 is 2 440 588. Leap days by the
/// Gregorian rule: 2000 has one, 2100 has none.
#[test]
fn days_are_counted_as_the_calendar_does() {
    assert_eq!(
        date("2000-01-01").since(date("1970-01-01")),
        2_451_545 - 2_440_588
    );
    assert_eq!(date("1970-01-01"), Date::from_days(0));
    assert_eq!(date("2026-11-26").weekday(), 3, "a Thursday");
    assert_eq!(date("2000-02-29").plus(1), date("2000-03-01"));
    assert_eq!(date("2026-12-12").short(), "Sat 12 Dec");
    for wrong in [
        "2100-02-29",
        "2026-13-01",
        "2026-11-31",
        "26-11-26",
        "2026-1-26",
        "tomorrow",
        "2026-+1-01",
        "",
    ] {
        assert!(wrong.parse::<Date>().is_err(), "{wrong}");
    }
    let mut day = date("1900-01-01");
    while day < date("2199-12-31") {
        let [y, m, d] = day.parts();
        assert_eq!(Date::new(y, m, d), Some(day), "{y} {m} {d}");
        day = day.plus(1);
    }
}

/// Mean and variance of the triangle by its closed form against the mean over its inverse, and the share below the
/// likely value, `(m - a)/(b - a)`.
#[test]
fn a_triangle_has_the_mean_the_variance_and_the_share_of_its_formula() {
    let t = Duration {
        least: 2.0,
        likely: 3.0,
        most: 7.0,
    };
    let n = 200_000;
    let values = (0..n).map(|i| t.at((f64::from(i) + 0.5) / f64::from(n)));
    let (mut mean, mut square) = (0.0, 0.0);
    for v in values {
        mean += v / f64::from(n);
        square += v * v / f64::from(n);
    }
    let variance = (4.0 + 9.0 + 49.0 - 6.0 - 14.0 - 21.0) / 18.0;
    assert!((mean - 4.0).abs() < 1e-6, "{mean}");
    assert!(
        (square - mean * mean - variance).abs() < 1e-4,
        "{}",
        square - mean * mean
    );
    assert!((t.at(0.2) - 3.0).abs() < 1e-12 && t.at(0.0) == 2.0 && t.at(1.0) == 7.0);
}

/// A symmetric triangle is the sum of two even draws, so k of them in a chain are the sum of 2k: Irwin (1927) and Hall
/// (1927), both Biometrika 19. `F(x) = 1/n! Σ (-1)^j C(n, j) (x - j)^n` for a sum of n even draws from 0 to 1.
fn irwin_hall(x: f64, n: i32) -> f64 {
    let (mut sum, mut binomial, mut factorial) = (0.0, 1.0, 1.0);
    for j in 0..=n {
        let j_f = f64::from(j);
        if j_f < x {
            let sign = if j % 2 == 0 { 1.0 } else { -1.0 };
            sum += sign * binomial * (x - j_f).powi(n);
        }
        binomial *= f64::from(n - j) / (j_f + 1.0);
        factorial *= f64::from(j.max(1));
    }
    sum / factorial
}

#[test]
fn the_chance_of_a_chain_is_that_of_its_closed_form() {
    // Three tasks of 0 to 32 hours, likely 16: each 16 hours times the sum of two even draws.
    let chain = |who: Option<usize>| {
        (0..3).map(move |i| {
            let after: Vec<usize> = (i > 0).then(|| i - 1).into_iter().collect();
            task("t", who, &after, [0.0, 16.0, 32.0])
        })
    };
    for (days, event) in [(1_i32, "2026-03-02"), (2, "2026-03-03"), (3, "2026-03-04")] {
        let wanted = irwin_hall(24.0 * f64::from(days) / 16.0, 6);
        for who in [None, Some(0)] {
            let plan = Plan::new(
                always("2026-03-01", event),
                vec![person("A")],
                chain(who).collect(),
            )
            .unwrap();
            let f = plan.forecast(RUNS).unwrap();
            let told = (f.chance * (1.0 - f.chance) / 1e4).sqrt();
            assert!((f.error - told).abs() < 1e-12);
            assert!(
                (f.chance - wanted).abs() < 4.0 * f.error.max(1e-4),
                "{days} days: {} is not {wanted}",
                f.chance
            );
            // 48 hours, with a standard deviation of √(3 · 16²/6).
            assert!(
                (f.mean / HOUR - 48.0).abs() < 4.0 * (128.0f64 / 1e4).sqrt(),
                "{}",
                f.mean / HOUR
            );
            assert!(
                f.tasks
                    .iter()
                    .all(|t| t.decides == 1.0 && (t.delay - DAY).abs() < 1e-3)
            );
        }
    }
}

/// Whichever of two independent tasks ends last: the chances multiply. Over a triangle from 0 to 48 h with its likely at
/// 48 h, `F = (t/48)²`; with its likely at 0, `F = 1 - (1 - t/48)²`. At 24 h that is 1/4 times 3/4.
#[test]
fn the_chance_of_two_at_once_is_the_product() {
    let tasks = vec![
        task("late", None, &[], [0.0, 48.0, 48.0]),
        task("early", None, &[], [0.0, 0.0, 48.0]),
    ];
    let plan = Plan::new(always("2026-03-01", "2026-03-02"), Vec::new(), tasks).unwrap();
    let f = plan.forecast(RUNS).unwrap();
    assert!((f.chance - 3.0 / 16.0).abs() < 4.0 * f.error, "{}", f.chance);
    // Either decides, never both: chance that the late one does is ∫ f(t) G(t) dt = 5/6 by hand.
    let [late, early] = [f.tasks[0].decides, f.tasks[1].decides];
    assert!((late + early - 1.0).abs() < 1e-9);
    assert!(
        (late - 5.0 / 6.0).abs() < 4.0 * (5.0f64 / 36.0 / 1e4).sqrt(),
        "{late}"
    );
}

/// By hand, hours: measure 3, then draw 4 and order sheet 24 (nobody); cut 5 after both; jig 6 after measure; weld 4 after
/// cut and jig. Measure 0-3, draw 3-7, sheet 3-27, jig 3-9, cut 27-32, weld 32-36. The sheet decides.
#[test]
fn a_network_worked_by_hand() {
    let tasks = vec![
        sure("measure", Some(0), &[], 3.0),
        sure("draw", Some(0), &[0], 4.0),
        sure("sheet", None, &[0], 24.0),
        sure("cut", Some(0), &[1, 2], 5.0),
        sure("jig", Some(1), &[0], 6.0),
        sure("weld", Some(1), &[3, 4], 4.0),
    ];
    let plan = Plan::new(
        always("2026-03-01", "2026-03-03"),
        vec![person("A"), person("B")],
        tasks,
    )
    .unwrap();
    let run = likely(&plan);
    let hours = |all: &[f64]| all.iter().map(|t| (t / HOUR).round()).collect::<Vec<_>>();
    assert_eq!(hours(&run.start), [0.0, 3.0, 3.0, 27.0, 3.0, 32.0]);
    assert_eq!(hours(&run.end), [3.0, 7.0, 27.0, 32.0, 9.0, 36.0]);
    assert_eq!(run.chain(), [5, 3, 2, 0]);
    let f = plan.forecast(100).unwrap();
    let decides: Vec<f64> = f.tasks.iter().map(|t| t.decides).collect();
    assert_eq!(decides, [1.0, 0.0, 1.0, 1.0, 0.0, 1.0]);
    // A day more of drawing ends it at 31 instead of 7: four hours later than the sheet comes.
    assert!(
        (f.tasks[1].delay / HOUR - 4.0).abs() < 1e-3,
        "{}",
        f.tasks[1].delay / HOUR
    );
    assert_eq!((f.chance, f.error), (1.0, 0.0));
}

/// By hand: one person, a at 2 h, b at 3 h with c (4 h, another person) behind it. b goes first, for more lies behind it:
/// b 0-3, a 3-5, c 3-7. The other way it would be 9.
#[test]
fn one_person_does_one_thing_at_a_time_and_first_what_more_waits_for() {
    let tasks = vec![
        sure("a", Some(0), &[], 2.0),
        sure("b", Some(0), &[], 3.0),
        sure("c", Some(1), &[1], 4.0),
    ];
    let plan = Plan::new(
        always("2026-03-01", "2026-03-02"),
        vec![person("A"), person("B")],
        tasks,
    )
    .unwrap();
    let run = likely(&plan);
    assert_eq!(
        run.start.iter().map(|t| t / HOUR).collect::<Vec<_>>(),
        [3.0, 0.0, 3.0]
    );
    assert!((run.ready() / HOUR - 7.0).abs() < 1e-9);
    assert_eq!(run.cause, [Some(1), None, Some(1)]);
}

/// By hand: four hours an evening from 18 h, never on Sundays, away on the 27th and 28th. Ten hours from Thursday the
/// 26th: four, then Monday four, then Tuesday two; done on Tuesday at 20 h. Then a night of 24 h, whoever is there.
#[test]
fn work_goes_on_only_while_someone_is_there() {
    let opening = Opening {
        opens: 18.0 * HOUR,
        hours: 4.0 * HOUR,
        rest: vec![6],
        ..always("2026-11-26", "2026-12-05")
    };
    let someone = Person {
        away: vec![[date("2026-11-27"), date("2026-11-28")]],
        ..person("A")
    };
    let tasks = vec![
        sure("weld", Some(0), &[], 10.0),
        sure("cure", None, &[0], 24.0),
        sure("fit", Some(0), &[1], 2.0),
    ];
    let plan = Plan::new(opening, vec![someone], tasks).unwrap();
    let run = likely(&plan);
    let at = |day: f64, hour: f64| day * DAY + hour * HOUR;
    assert_eq!(run.start[0], at(0.0, 18.0));
    assert!((run.end[0] - at(5.0, 20.0)).abs() < 1e-3, "{}", run.end[0] / HOUR);
    assert!((run.end[1] - at(6.0, 20.0)).abs() < 1e-3);
    assert!((run.ready() - at(6.0, 22.0)).abs() < 1e-3);
    assert_eq!(plan.day_of(run.ready()), date("2026-12-02"));
    assert!(
        !plan.works(0, date("2026-11-28"))
            && !plan.works(0, date("2026-11-29"))
            && plan.works(0, date("2026-11-30"))
    );
}

#[test]
fn what_waits_for_a_task_that_is_left_out_waits_for_what_that_one_waited_for() {
    let tasks = vec![
        sure("measure", None, &[], 1.0),
        sure("cut", None, &[0], 1.0),
        sure("weld", None, &[1], 1.0),
        sure("fit", None, &[2], 1.0),
    ];
    let plan = Plan::new(always("2026-03-01", "2026-03-02"), Vec::new(), tasks).unwrap();
    let bought = plan.only(&[0, 3]).unwrap();
    assert_eq!(bought.tasks()[1].after, [0]);
    assert!((likely(&bought).ready() / HOUR - 2.0).abs() < 1e-9);
}

#[test]
fn a_plan_that_cannot_be_is_refused_and_says_why() {
    let new = |tasks| Plan::new(always("2026-03-01", "2026-03-02"), vec![person("A")], tasks).map(|_| ());
    let ring = vec![
        sure("a", None, &[], 1.0),
        sure("b", None, &[0, 3], 1.0),
        sure("c", None, &[1], 1.0),
        sure("d", None, &[2], 1.0),
    ];
    let Err(PlanFault::Loop(found)) = new(ring) else {
        panic!("no ring found")
    };
    assert_eq!(found, [1, 3, 2], "b waits for d, d for c, c for b");
    assert_eq!(
        new(vec![sure("a", None, &[0], 1.0)]),
        Err(PlanFault::Loop(vec![0]))
    );
    assert_eq!(new(Vec::new()), Err(PlanFault::NoTask));
    for wrong in [
        [2.0, 1.0, 3.0],
        [1.0, 3.0, 2.0],
        [-1.0, 0.0, 1.0],
        [0.0, 1.0, f64::NAN],
    ] {
        assert_eq!(
            new(vec![task("a", None, &[], wrong)]),
            Err(PlanFault::Durations(0))
        );
    }
    let past = Plan::new(
        always("2026-03-01", "2026-03-01"),
        Vec::new(),
        vec![sure("a", None, &[], 1.0)],
    );
    assert_eq!(past.map(|_| ()), Err(PlanFault::EventPast));
    let never = Opening {
        rest: (0..7).collect(),
        ..always("2026-03-01", "2026-03-02")
    };
    let never = Plan::new(never, vec![person("A")], vec![sure("a", Some(0), &[], 1.0)]);
    assert_eq!(never.map(|_| ()), Err(PlanFault::NeverDone(0)));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Whatever the plan: nobody does two things at once, nothing begins before what it waits for, and a forecast is the
    /// same each time.
    #[test]
    fn no_order_is_broken(
        seeds in proptest::collection::vec((0_usize..4, 0.0..30.0_f64, 0.0..30.0_f64, any::<u8>()), 1..9),
        away in 0_i64..6,
    ) {
        let tasks: Vec<Task> = seeds.iter().enumerate().map(|(i, &(who, a, b, waits))| {
            let after: Vec<usize> = (0..i).filter(|j| waits >> j & 1 == 1).collect();
            task("t", (who < 3).then_some(who), &after, [a.min(b), a.min(b), a.max(b)])
        }).collect();
        let mut people = vec![person("A"), person("B"), person("C")];
        people[1].away = vec![[date("2026-03-02"), date("2026-03-02").plus(away)]];
        let opening = Opening { opens: 8.0 * HOUR, hours: 6.0 * HOUR, rest: vec![5, 6], ..always("2026-03-01", "2026-03-20") };
        let plan = Plan::new(opening, people, tasks).unwrap();
        let run = likely(&plan);
        for (i, a) in plan.tasks().iter().enumerate() {
            prop_assert!(a.after.iter().all(|&j| run.end[j] <= run.start[i] + 1e-3));
            let least = if a.who.is_some() { 0.0 } else { a.duration.likely - 1e-3 };
            prop_assert!(run.end[i] >= run.start[i] + least);
            for (j, b) in plan.tasks().iter().enumerate().skip(i + 1) {
                let apart = run.end[i] <= run.start[j] + 1e-3 || run.end[j] <= run.start[i] + 1e-3;
                prop_assert!(a.who.is_none() || a.who != b.who || apart);
            }
        }
        prop_assert_eq!(plan.forecast(20).unwrap(), plan.forecast(20).unwrap());
    }
}
