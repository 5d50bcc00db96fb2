//! Sizes, form and runout: what a machine holds, and what a remedy may say.

use super::*;

/// A bored sleeve out of a collet with more lines.
fn sleeve(bore: &str, lines: &str) -> String {
    format!(
        "material 11smn30\nlength 20 ±0.2\norder 1_000 repeat\nturn od dia 18 ±0.05 z 0 .. 20\nbore id {bore} through\n{lines}"
    )
}

/// The finding of a rule about a feature.
#[track_caller]
fn about<'f>(said: &'f Said, rule: &str, feature: &str) -> &'f Finding {
    let quoted = format!("`{feature}`");
    let found = said.of(rule).into_iter().find(|f| f.reason.starts_with(&quoted));
    found.unwrap_or_else(|| panic!("{rule} says nothing of {feature}: {:#?}", said.findings))
}

#[test]
fn a_bore_is_judged_as_a_diameter_is() {
    // 2 um on a machine with a spread of 6 um.
    let said = on(Collet, "", &sleeve("dia 12 +0.002/-0", ""));
    assert_eq!(about(&said, "capability", "id").verdict, Verdict::Refused);
    on(Collet, "", &sleeve("dia 12 H8", "")).is_possible();
}

#[test]
fn a_reamer_and_a_drill_hold_their_grade() {
    // IT 7 at 5 mm is 12 um, by definition with the capability from which a tolerance is held.
    let verdict = |bore: &str| {
        let said = on(Collet, "", &sleeve(bore, "").replace("dia 18", "dia 10"));
        let ream = said.works.contains(&Work::Ream);
        (ream, about(&said, "capability", "id").verdict)
    };
    assert_eq!(verdict("dia 2 H7"), (true, Verdict::Fits));
    assert_eq!(verdict("dia 2 ±0.1"), (false, Verdict::Fits));
    let own = judged(Collet, "", &sleeve("dia 2 H7", ""), "", "thresholds: { ream-grade: 9 }");
    assert_eq!(about(&own, "capability", "id").verdict, Verdict::Refused);
}

#[test]
fn a_bore_finer_than_a_reamer_holds_is_bored() {
    let works = |lines: &str| on(Collet, "", &sleeve("dia 5 H7", lines)).is_possible().works.clone();
    assert!(works("").contains(&Work::Ream));
    // IT 7 with a Cpk of 1.67: a reamer holds 1.33, the machine 12 um over 6 um.
    assert!(works("key id cpk 1.67").contains(&Work::Bore));
}

#[test]
fn a_boring_bar_springs_more_the_deeper_it_reaches() {
    let cp = |depth: u32| {
        let part = format!(
            "material 1.4305\nlength 60 ±0.2\norder 1_000 repeat\npin front first\nturn od dia 18 ±0.05 z 0 .. 60\n\
             bore id dia 12 H7 depth {depth} from front flat-bottom"
        );
        about(&on(Collet, "", &part), "capability", "id").offered.value().unwrap()
    };
    // By the cube of the reach, a bar of steel of 8 mm at both.
    let free = 18.0 / 6.0;
    let (short, long) = (free - cp(15), free - cp(31));
    assert!(long > 4.0 * short && short > 0.0, "{short} {long}");
}

#[test]
fn a_cpk_of_the_drawing_refuses_below_its_figure() {
    let verdict = |cpk: &str| {
        let part = pin(&format!("key body cpk {cpk}")).replace("±0.1 z", "±0.006 z");
        on(Guided, "", &part).worst("capability")
    };
    // 12 um over 6 um of the mode and a bar's share; a tenth of the tolerance is left for centring.
    assert_eq!(verdict("1.63"), Verdict::Fits);
    assert_eq!(verdict("1.85"), Verdict::Warns);
    assert_eq!(verdict("2.01"), Verdict::Refused);
}

#[test]
fn a_reamed_bore_is_not_true_to_the_spindle() {
    let part = |bore: &str| {
        format!(
            "material 11smn30\nlength 40 ±0.2\norder 1_000 repeat\nturn od dia 12 ±0.05 z 0 .. 40\n\
             bore id {bore} through\ntotal-runout od to id 0.02"
        )
    };
    // 13 D are beyond every boring bar: the reamer follows the drill over 40 mm.
    let said = on(Collet, "", &part("dia 3 H7"));
    assert!(said.works.contains(&Work::Ream));
    assert_eq!(said.refused_by("runout").verdict, Verdict::Refused);
    // What is bored runs true to the spindle.
    let said = on(Collet, "", &part("dia 8 H8"));
    assert!(said.works.contains(&Work::Bore));
    assert_eq!(said.worst("runout"), Verdict::Fits);
}

#[test]
fn roundness_is_not_cylindricity() {
    let part = |demand: &str| {
        format!(
            "material 1.4305\nlength 46 ±0.2\norder 1_000 repeat\nturn od dia 18 ±0.05 z 0 .. 46\n\
             bore id dia 12 H7 through\n{demand} id 0.0015"
        )
    };
    assert_eq!(on(Collet, "", &part("roundness")).worst("roundness"), Verdict::Fits);
    let said = on(Collet, "", &part("cylindricity"));
    assert!(said.refused_by("roundness").remedy.as_ref().unwrap().contains("honing"));
    on(Collet, "", &part("after hone id\ncylindricity")).is_possible();
}

#[test]
fn a_pin_that_bends_a_little_is_turned_with_a_taper_in_the_program() {
    let part = "material 11smn30\nlength 30 ±0.2\norder 1_000 repeat\nturn body dia 8 h9 z 0 .. 30";
    let said = on(Collet, "", part);
    let finding = about(&said, "capability", "body");
    assert_eq!(finding.verdict, Verdict::Warns, "{}", finding.reason);
    assert!(finding.remedy.as_ref().unwrap().starts_with("a taper in the program"), "{:?}", finding.remedy);
    // No program straightens what bends by many times the tolerance.
    let slender = part.replace("length 30", "length 60").replace(".. 30", ".. 60");
    assert_eq!(about(&on(Collet, "", &slender), "capability", "body").verdict, Verdict::Refused);
}

#[test]
fn the_tailstock_is_named_before_a_guide_bushing_and_no_absurd_tolerance_is() {
    let part = "material 11smn30\nlength 75 ±0.2\norder 1_000 repeat\nturn body dia 8 h9 z 0 .. 75";
    let said = on(Collet, "tailstock\nsteady { dia 4 .. 30 }", part);
    let remedy = about(&said, "capability", "body").remedy.clone().unwrap();
    let at = |words: &str| remedy.find(words).unwrap_or_else(|| panic!("no {words} in {remedy}"));
    assert!(at("tailstock") < at("the steady") && at("the steady") < at("guide bushing"), "{remedy}");
    assert!(!remedy.contains("a tolerance of"), "{remedy}");
    assert!(!about(&on(Collet, "", part), "capability", "body").remedy.clone().unwrap().contains("tailstock"));
}

#[test]
fn a_better_bar_is_no_remedy_where_the_mode_leaves_all() {
    let part = |um: &str| pin(&format!("roundness body {um}"));
    let remedy = |um: &str| on(Guided, "", &part(um)).of("roundness")[0].remedy.clone().unwrap();
    assert!(remedy("0.001").contains("grinding") && !remedy("0.001").contains("bar rounder"));
    assert!(remedy("0.0015").contains("bar rounder"));
}

/// The numbers of a printed sum, in um: `Cp 1.45 = (36 um tolerance - 2 x 10.5 um bend) / 10 um spread`.
fn printed_sum(reason: &str) -> Option<(f64, f64)> {
    let (_, sum) = reason.split_once("Cp ")?;
    let (cp, sum) = sum.split_once(" = (")?;
    let (over, under) = sum.split_once(") / ")?;
    let numbers = |words: &str| -> Vec<f64> {
        let words: Vec<&str> = words.split(' ').collect();
        let in_um = |i: usize| words.get(i + 1).map_or(1.0, |unit| if *unit == "mm" { 1000.0 } else { 1.0 });
        words.iter().enumerate().filter_map(|(i, w)| Some(w.parse::<f64>().ok()? * in_um(i))).collect()
    };
    let value = match numbers(over)[..] {
        [tolerance] => tolerance,
        [tolerance, two, bend] => tolerance - two * bend,
        _ => panic!("{over}"),
    };
    Some((cp.parse().unwrap(), value / numbers(under)[0]))
}

#[test]
fn the_sum_that_a_capability_prints_comes_out() {
    let demo = common::Demo::whole();
    let mut seen = 0;
    for part in &demo.parts {
        for row in &rank(part, &demo.machines, &demo.shop, None, By::Cost).rows {
            for f in row.judged.findings.iter().filter(|f| f.rule == "capability") {
                let Some((printed, reckoned)) = printed_sum(&f.reason) else { continue };
                seen += 1;
                assert!((printed - reckoned).abs() <= 0.02 + 0.01 * printed.abs(), "{reckoned}: {}", f.reason);
            }
        }
    }
    assert!(seen > 100, "{seen}");
    // What the bar adds to the spread is told beside what the mode states.
    let said = on(Guided, "", &pin("").replace("±0.1 z", "±0.005 z"));
    let reason = &about(&said, "capability", "body").reason;
    assert!(reason.contains("6 um of the mode") && reason.contains("of h8 bar"), "{reason}");
}

#[test]
fn an_eccentric_holds_what_the_slide_in_step_holds() {
    let part = |offset: &str| {
        pin(&format!("turn cam dia 10 h9 {offset} z 0 .. 10 finish 0.8 um")).replace("z 0 .. 30", "z 10 .. 30")
    };
    let said = on(Guided, "", &part("offset 1"));
    let held = about(&said, "capability", "cam");
    // 36 um over 6 um of the mode and 20 um of the slide.
    assert!((held.offered.value().unwrap() - 36.0 / 6.0_f64.hypot(20.0)).abs() < 0.01, "{}", held.reason);
    assert!(held.reason.contains("in step with the spindle"), "{}", held.reason);
    let finish = about(&said, "finish", "cam");
    assert!(finish.verdict == Verdict::Warns && finish.reason.contains("m/min"), "{}", finish.reason);
    let plain = on(Guided, "", &part(""));
    assert!(about(&plain, "capability", "cam").offered.value().unwrap() > 5.0 && plain.of("finish").is_empty());
}

#[test]
fn the_force_of_a_finishing_cut_is_cautious_once() {
    // 0.2 mm deep at 0.16 mm in C45, kc1.1 1,500 at a worn edge or 2,220 of the textbook, mc 0.22.
    let part = "material c45\nlength 20 ±0.2\norder 1_000 repeat\nturn body dia 8 h9 z 0 .. 20";
    let said = on(Collet, "", part);
    let pushed = &about(&said, "capability", "body").reason;
    let n: f64 = pushed.split_once("; ").unwrap().1.split_once(" N push").unwrap().0.parse().unwrap();
    let textbook = 2220.0 * 0.16_f64.powf(-0.22) * 0.2 * 0.16;
    assert!((n - textbook).abs() < 0.6, "{n} N, {textbook} N");
}
