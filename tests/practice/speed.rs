//! What bar, free end, thread and live tool do to the speed, and what a setter does about it.

use super::{judged, on, pin};
use turnwright::matching::Verdict;
use turnwright::model::machine::ModeKind::{Collet, Guided};
use turnwright::planning::operation::Work;

#[test]
fn a_worm_is_single_pointed() {
    // Every worm of a module is 2.25 modules deep: 0.72 of its pitch.
    let worm = "thread form profile major 10 core 7.75 pitch 1.5708 flanks 40 deg starts 2 z 8 .. 25";
    let said = on(Guided, "", &pin(worm).replace("dia 12", "dia 10"));
    assert!(said.is_possible().works.contains(&Work::SinglePoint));
}

#[test]
fn what_draws_back_is_asked_of_every_way() {
    // 28 mm of thread: held by a land of 30, and drawn back by the mill as by the point.
    let part = |end: u32| {
        let lines = format!(
            "turn tip dia 6 ±0.1 z 0 .. 1\nthread lift Tr 8x1.5 7e z 1 .. {end}\nturn neck dia 6 ±0.1 z {end} .. 40"
        );
        pin(&lines).replace("30 ±0.2", "60 ±0.2").replace("dia 12 ±0.1 z 0 .. 30", "dia 12 ±0.1 z 40 .. 60")
    };
    let said = on(Guided, "mode guided { land 30 }", &part(29));
    assert_eq!(said.is_possible().worst("pull-back"), Verdict::Fits, "{:#?}", said.of("pull-back"));
    let said = on(Guided, "mode guided { land 25 }", &part(29));
    assert!(said.works.contains(&Work::SinglePoint), "{:?}", said.works);
    assert!(said.of("pull-back")[0].reason.contains("its land holds 25 mm"), "{:#?}", said.of("pull-back"));
    assert_eq!(said.of("pull-back")[0].places.len(), 1);
    // Four diameters of the work stand free in the longest land; where they bind, it says so and does not cite the land.
    let said = on(Guided, "mode guided { land 50 }", &part(33));
    assert_eq!(said.worst("pull-back"), Verdict::Fits, "{:#?}", said.of("pull-back"));
    let said = on(Guided, "mode guided { land 50 }", &part(34));
    assert_eq!(said.worst("pull-back"), Verdict::Warns);
    let said = on(Guided, "mode guided { land 50 }", &part(38));
    assert!(said.of("pull-back")[0].reason.contains("beyond 32 mm, 4 D"), "{:#?}", said.of("pull-back"));
    assert!(said.of("pull-back")[0].places.is_empty());
}

#[test]
fn milling_that_draws_back_is_not_helped_by_whirling() {
    // Three flats: pairs are taken across by straddle mills, which draw nothing back.
    let said = on(Guided, "mode guided { land 10 }", &pin("flat drive from-axis 5 z 0 .. 14 count 3"));
    let remedy = said.of("pull-back")[0].remedy.as_deref().unwrap();
    assert!(remedy.contains("slices") && !remedy.contains("whirling"), "{remedy}");
}

#[test]
fn a_slow_live_tool_is_told_in_seconds() {
    // 30 m/min in aluminium cut well: what is asked of the feed stays.
    let slow = "carrier cross { speed .. 2_000 rpm } carrier tilt { speed .. 2_000 rpm }";
    let hole = |dia: &str, depth: &str| {
        let hole = format!("hole side dia {dia} at 15 angle 90 deg depth {depth} count 4");
        let said = on(Guided, slow, &pin(&hole).replace("11smn30", "al-6061-t6"));
        let finding = said.of("live-speed").into_iter().find(|f| f.verdict == Verdict::Warns).unwrap().clone();
        (finding.reason.into_owned(), finding.remedy.unwrap())
    };
    let (reason, remedy) = hole("2.4", "3");
    assert!(!reason.contains("rub") && !reason.contains("harder") && reason.contains("a piece longer"), "{reason}");
    assert!(!remedy.contains("rpm"), "{remedy}");
    assert!(hole("1.5", "1").1.starts_with("nothing"));
}

#[test]
fn hexagonal_bar_is_drawn() {
    let part = "material 11smn30\nlength 30 ±0.2\norder 1_000 repeat\nstock hex 17 GRADE\nhex head across 17 z 0 .. 10 as-stock\n\
                turn stem dia 10 ±0.1 z 10 .. 30";
    for grade in ["h11", ""] {
        for bushing in ["rotary", "self-adjusting"] {
            let machine = format!("mode guided {{ bushing {bushing} stock h10 }}");
            let said = on(Guided, &machine, &part.replace("GRADE", grade));
            let remedy = said.refused_by("stock-grade").remedy.clone().unwrap();
            assert!(remedy.starts_with("collet mode"), "{remedy}");
        }
        on(Collet, "", &part.replace("GRADE", grade)).is_possible();
    }
}

#[test]
fn plastic_rod_is_oversize_and_its_chips_do_not_break() {
    let part = pin("bore hole dia 6 through").replace("11smn30", "pom");
    let said = on(Guided, "coolant oil 20 bar", &part);
    assert_eq!(said.worst("stock-grade"), Verdict::Warns);
    let chips = said.of("chip-control")[0];
    assert!(chips.remedy.as_deref().unwrap().contains("air blast"), "{chips:?}");
    assert_eq!(on(Collet, "", &part).worst("stock-grade"), Verdict::Fits);
}

#[test]
fn a_slow_bar_is_time_and_no_refusal() {
    // 75 m/min in free-cutting steel is slow, but it cuts; so are 28 m/min in stainless.
    let stout = pin("").replace("dia 12 ±0.1", "dia 8 h9");
    let thin = pin("").replace("dia 12 ±0.1", "dia 2.5 ±0.05").replace("11smn30", "303");
    for (part, channel, bar) in [(stout, 14, 9), (thin, 8, 3)] {
        let said = on(Guided, &format!("feeder {{ channel {channel}, 20 }}"), &part);
        assert_eq!(said.worst("bar-channel"), Verdict::Warns, "{:#?}", said.of("bar-channel"));
        assert!(said.fastest <= 3000.0 + 1e-6, "{}", said.fastest);
        let told = said.of("bar-channel")[0];
        assert!(told.reason.contains("3,000 rpm") && told.reason.contains("longer"), "{}", told.reason);
        assert_eq!(told.remedy, Some(format!("a channel or reducing tube of {} mm", bar + 1)));
    }
}

#[test]
fn a_share_of_the_speed_means_one_thing() {
    // The same bar with the same air on a fast and on a slow machine: what it stands is the bar's, not the machine's.
    let part = pin("").replace("dia 12 ±0.1", "dia 5.5 ±0.05");
    let speed = |rpm: u32| {
        let machine = format!(
            "feeder {{ channel 9.5 }} spindle main {{ speed .. {rpm} rpm }} mode guided {{ speed .. {rpm} rpm }}"
        );
        let said = on(Guided, &machine, &part);
        (said.fastest, said.worst("bar-channel"))
    };
    let (fast, slow, slowest) = (speed(10_000), speed(7_000), speed(4_500));
    assert!((fast.0 - 4800.0).abs() < 1.0 && (slow.0 - 4800.0).abs() < 1.0, "{fast:?} {slow:?}");
    assert_eq!((fast.1, slow.1), (Verdict::Warns, Verdict::Warns));
    assert_eq!(slowest, (4500.0, Verdict::Fits));
}

#[test]
fn a_bar_as_short_as_the_spindle_has_a_limit_too() {
    let part = "material al-6061-t6\nlength 30 ±0.2\norder 1_000 repeat\nturn body dia 28 ±0.1 z 0 .. 30\n\
                turn stem dia 20 ±0.1 z 30 .. 50"
        .replace("length 30", "length 50");
    let said = on(Collet, "feeder { length .. 1_200 channel 31 short }", &part);
    let finding = said.of("bar-channel")[0];
    assert!(finding.reason.contains("as short as the spindle"), "{}", finding.reason);
    // Half as much again as a long bar of 30 mm stands.
    assert!((finding.offered.value().unwrap() - 1.5 * 4166.7).abs() < 1.0, "{finding:?}");
}

#[test]
fn a_bar_that_does_not_enter_asks_nothing_of_its_channel() {
    let part = pin("").replace("dia 12", "dia 34");
    let said = on(Guided, "", &part);
    said.refused_by("bar-range");
    assert!(said.of("bar-channel").is_empty());
    // Nor is thicker bar named where the drawing keeps the bar's own surface, or where nothing would be left of it.
    let machine = "mode guided { bar 6 .. 32 }";
    let kept = "material 303\nlength 20 ±0.2\norder 1_000 repeat\nturn collar as-stock dia 0.8 h9 z 0 .. 15\n\
                turn tip dia 0.5 ±0.05 z 15 .. 20";
    let said = on(Guided, machine, kept);
    assert_eq!(said.refused_by("bar-range").remedy.as_deref(), Some("a machine or mode that grips 0.8 mm"));
    assert!(said.of("bar-channel").is_empty());
    let thin = pin("").replace("dia 12 ±0.1", "dia 1.2 ±0.05");
    let remedy = on(Guided, machine, &thin).refused_by("bar-range").remedy.clone().unwrap();
    assert!(remedy.starts_with("a machine or mode that grips"), "{remedy}");
    let stout = pin("").replace("dia 12", "dia 4");
    let remedy = on(Guided, machine, &stout).refused_by("bar-range").remedy.clone().unwrap();
    assert_eq!(remedy, "bar of 6 mm, turned down further");
}

#[test]
fn a_bar_that_bends_itself_crooked_is_not_run() {
    // A bar of 9 mm in its channel: 24 mm of air are slow, more spoil the bar.
    let part = pin("").replace("dia 12 ±0.1", "dia 8 h9");
    let said = |channel: f64| on(Guided, &format!("feeder {{ channel {channel} }}"), &part);
    assert_eq!(said(33.0).is_possible().worst("bar-channel"), Verdict::Warns);
    let refused = said(33.1);
    assert_eq!(refused.refused_by("bar-channel").remedy.as_deref(), Some("a channel or reducing tube of 10 mm"));
    // To 4 mm it runs at a share, to 2 mm as fast as any.
    for (channel, speed) in [(11.0, 7750.0), (11.1, 0.6 * 7750.0), (13.0, 0.6 * 7750.0), (13.1, 3000.0)] {
        let machine = format!(
            "feeder {{ channel {channel} }} spindle main {{ speed .. 20_000 rpm }} mode guided {{ speed .. 20_000 rpm }}"
        );
        let fastest =
            on(Guided, &machine, &pin("").replace("dia 12 ±0.1", "dia 8 h9").replace("11smn30", "al-6061-t6")).fastest;
        assert!((fastest - speed).abs() < 1.0, "{channel}: {fastest}");
    }
}

#[test]
fn an_insert_runs_out_over_half_its_width() {
    // Two starts of 2 mm: an insert of 4 mm, backed off beside the thread. Stainless this deep is not single-pointed.
    let head = "option whirling { method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 14 \
                ring-speed .. 4_000 rpm cutters 6 occupies cross 2 neighbouring live mount 30 min }";
    let part = |shoulder: &str| {
        pin(&format!(
            "turn neck dia 3 ±0.1 z {shoulder} .. 14\n\
             thread bone form profile major 6 core 3.2 pitch 2 flanks 30 deg starts 2 z 14 .. 30"
        ))
        .replace("11smn30", "316l")
        .replace("dia 12 ±0.1 z 0 .. 30", &format!("dia 8 ±0.1 z 0 .. {shoulder}"))
    };
    let own = ", owned: { whirling: 1 }";
    assert_ne!(judged(Guided, head, &part("12"), own, "").worst("run-out"), Verdict::Refused);
    judged(Guided, head, &part("12.01"), own, "").refused_by("run-out");
}

#[test]
fn a_slender_end_is_turned_as_fast_as_it_stands() {
    // 10 diameters of a thin piece are stiff enough, more whip; the last third alone is held back.
    let part = |length: u32| {
        pin("")
            .replace("30 ±0.2", &format!("{length} ±0.2"))
            .replace("dia 12 ±0.1 z 0 .. 30", &format!("dia 3 ±0.05 z 0 .. {length}"))
    };
    assert!(on(Guided, "", &part(29)).of("free-end").is_empty());
    assert!(!on(Guided, "", &part(31)).of("free-end").is_empty());
    let fast = "spindle main { speed .. 12_000 rpm } mode guided { speed .. 12_000 rpm }";
    let long = on(Guided, fast, &part(120).replace("11smn30", "al-6061-t6"));
    let told = long.of("free-end");
    assert_eq!(told[0].verdict, Verdict::Warns);
    assert!(told[0].reason.contains("longer") && long.fastest > told[0].offered.value().unwrap(), "{told:#?}");
}

#[test]
fn an_edge_that_turns_past_the_work_lives_longer() {
    let part = "material 316l\nlength 30 ±0.2\norder 100_000 repeat\nturn head dia 8 ±0.1 z 0 .. 12\n\
                turn neck dia 3 ±0.1 z 12 .. 14\n\
                thread bone form profile major 6 core 3.2 pitch 2 flanks 30 deg starts 2 z 14 .. 30";
    let head = "option whirling { method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 14 \
                ring-speed .. 4_000 rpm cutters 6 occupies cross 2 neighbouring live mount 30 min }";
    let said = judged(Guided, head, part, ", owned: { whirling: 1 }", "");
    let whirl = said.operations.iter().find(|o| o.work == Work::Whirl).expect("it is whirled");
    assert!((whirl.contact() / whirl.cutting - 0.1).abs() < 1e-9);
    let told: Vec<&str> = said.of("tool-life").iter().map(|f| f.reason.as_ref()).collect();
    assert!(told.iter().all(|t| !t.contains("the edge of the whirling")), "{told:?}");
}

#[test]
fn a_pass_turns_as_fast_as_its_skin_allows() {
    // 6 mm out of 13 mm bar: the skin of 13 mm is where the edge wears. Out of the collet the last pass meets 6.4 mm.
    let part = "material ti-6al-4v-eli\nlength 12 ±0.2\norder 1_000 repeat\nstock round 13 h8\n\
                turn pin dia 6 ±0.1 z 0 .. 12";
    let at = |mode, work: Work| {
        let said = on(mode, "", part);
        said.operations.iter().find(|o| o.work == work).unwrap().wanted.to_rpm()
    };
    let pass = at(Guided, Work::Turn);
    assert!((at(Collet, Work::RoughTurn) - pass).abs() < 1e-6);
    assert!((at(Collet, Work::FinishTurn) / pass - 13.0 / 6.4).abs() < 1e-9);
    // 1,000 v / (pi d), with the typical speed of the material.
    let v = turnwright::tables::materials::find("ti-6al-4v-eli").unwrap().turning_speed.typical.to_m_per_min();
    assert!((pass - 1000.0 * v / (std::f64::consts::PI * 13.0)).abs() < 1e-6, "{pass}");
}

#[test]
fn what_is_whirled_is_drawn_back_like_any_thread() {
    let head = "mode guided { land 40 } option whirling { method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 14 \
                ring-speed .. 5_000 rpm cutters 6 occupies cross 1 live mount 35 min }";
    let screw = |thread: u32| {
        let part = format!(
            "material ti-6al-4v-eli\nlength {0} ±0.2\norder 1_000 repeat\npin front first\nstock round 8 h8\n\
             turn tip dia 3 ±0.1 z 0 .. 2\nthread bone form profile major 4 core 3 pitch 1.75 flanks 30 deg z 2 .. {1}\n\
             turn neck dia 3 ±0.1 z {1} .. {2}\nturn head dia 7 ±0.1 z {2} .. {0}",
            thread + 9,
            thread + 2,
            thread + 5
        );
        judged(Guided, head, &part, ", owned: { whirling: 1 }", "")
    };
    // 4 D of a blank of 4 mm.
    let held = screw(16);
    assert!(held.works.contains(&Work::Whirl), "{:?}", held.works);
    assert_eq!(held.worst("pull-back"), Verdict::Fits, "{:#?}", held.of("pull-back"));
    let drawn = screw(17);
    assert_eq!(drawn.worst("pull-back"), Verdict::Warns);
    let remedy = drawn.of("pull-back")[0].remedy.as_deref().unwrap();
    assert!(remedy.contains("whirled in slices"), "{remedy}");
}
