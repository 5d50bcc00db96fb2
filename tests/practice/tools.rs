//! Which tools a setter would take: sizes that holders take, bores that overlap, threads inside, and what makes place first.

use super::{BASE, Said, judged, judged_on, on, pin};
use turnwright::matching::{Finding, Verdict};
use turnwright::model::machine::ModeKind::{Collet, Guided};
use turnwright::model::machine::Side;
use turnwright::model::tooling::ToolKind;
use turnwright::planning::operation::{Operation, Work};

/// The diameters of all tools of a kind, in mm, the smallest first.
fn sizes(said: &Said, kind: ToolKind) -> Vec<f64> {
    let mut found: Vec<f64> = said.tools.iter().filter(|t| t.kind == kind).map(|t| t.dia.to_mm()).collect();
    found.sort_by(f64::total_cmp);
    found
}

/// The operations of a kind of work, each with the length along z that it works on.
fn works(said: &Said, work: Work) -> Vec<(&Operation, f64)> {
    let along = |op: &Operation| op.zone.map_or(f64::NAN, |z| z.length().to_mm());
    said.operations.iter().filter(|op| op.work == work).map(|op| (op, along(op))).collect()
}

/// The machine of the examples with another text in place of one that it must hold.
fn machine(from: &str, to: &str) -> String {
    let changed = BASE.replace(from, to);
    assert_ne!(changed, BASE, "{from}");
    changed
}

#[test]
fn a_boring_bar_is_taken_as_stout_as_its_holder_takes() {
    // A cone 0.8 mm deep in a mouth of 13.6 mm: any bar reaches it.
    let part = pin("bore guide dia 9 through\ntaper cone internal dia 10 .. 9 z 0 .. 0.8");
    let said = on(Guided, "carrier end { sleeve .. 10 }", &part);
    assert_eq!(sizes(&said, ToolKind::BoringBar), [6.0], "seven millimetres are not kept");
    for (holder, bar) in [("5", 5.0), ("4.5", 4.0), ("3.2", 3.2)] {
        let small =
            part.replace("dia 9", "dia 3").replace("10 .. 9", "10 .. 8").replace("through", "depth 2 from front");
        let said = on(
            Guided,
            &format!("carrier end {{ sleeve .. {holder} }} carrier tilt {{ angle 60 .. 110 deg }}"),
            &small.replace("order", "pin front first\norder"),
        );
        assert_eq!(said.worst("holder-size"), Verdict::Fits, "{holder}: {:#?}", said.of("holder-size"));
        assert_eq!(sizes(&said, ToolKind::BoringBar), [bar], "{holder}");
    }
}

#[test]
fn a_boring_bar_enters_a_cone_at_its_smaller_end() {
    let part = pin("bore seat dia 6 depth 10 from front\ntaper cone internal dia 10 .. 6 z 0 .. 4");
    // Eight tenths of 6 mm are 4.8 mm.
    assert_eq!(sizes(&on(Guided, "", &part), ToolKind::BoringBar), [4.0]);
}

#[test]
fn what_no_holder_drills_is_drilled_smaller_and_bored() {
    let part = pin("bore chamber dia 10 depth 20 from front").replace("order", "pin front first\norder");
    let small = "carrier end { sleeve .. 8 } carrier cross { collet .. 8 } carrier tilt { collet .. 8 }";
    let said = on(Collet, small, &part);
    assert_eq!(said.worst("holder-size"), Verdict::Fits, "{:#?}", said.of("holder-size"));
    assert_eq!((sizes(&said, ToolKind::Drill), sizes(&said, ToolKind::BoringBar)), (vec![8.0], vec![6.0]));
    assert_eq!(sizes(&on(Collet, "", &part), ToolKind::Drill).last(), Some(&10.0));
    // A bar of 6 mm bores 36 mm deep; deeper, the holder is what is missing.
    let deep =
        |depth: &str| part.replace("depth 20", depth).replace("length 30", "length 50").replace("0 .. 30", "0 .. 50");
    assert_eq!(sizes(&on(Collet, small, &deep("depth 36")), ToolKind::Drill), [8.0]);
    on(Collet, small, &deep("depth 36.1")).refused_by("holder-size");
}

#[test]
fn a_flat_is_milled_by_a_mill_as_wide_as_the_flat() {
    // 0.2 mm deep in 8 mm: 2.5 mm wide. 10 mm with 4.7 mm from the axis: 3.4 mm.
    for (part, mill) in [
        (pin("flat f from-axis 3.8 z 0 .. 12").replace("dia 12", "dia 8"), 3.0),
        (pin("flat f from-axis 4.7 z 0 .. 30").replace("dia 12", "dia 10"), 4.0),
    ] {
        let said = on(
            Guided,
            "carrier cross { collet .. 4 } carrier tilt { collet .. 4 } carrier back { collet .. 4 }",
            &part,
        );
        assert_eq!(sizes(said.is_possible(), ToolKind::EndMill), [mill]);
    }
    // A wide flat is milled in rows by what the holder takes, off the plane of the axis.
    let wide = pin("flat f from-axis 4.7 z 0 .. 20").replace("dia 12", "dia 20");
    let small = "carrier cross { collet .. 4 } carrier tilt { collet .. 4 } carrier back { collet .. 4 }";
    let (rows, one) = (on(Guided, small, &wide), on(Guided, "", &wide));
    assert_eq!((sizes(&rows, ToolKind::EndMill), sizes(&one, ToolKind::EndMill)), (vec![4.0], vec![10.0]));
    assert!(rows.tools.iter().any(|t| t.off_axis.is_some_and(|y| (y.to_mm() - 8.83).abs() < 0.01)));
    rows.is_possible();
}

#[test]
fn a_wider_bore_is_opened_from_the_narrower_through_it() {
    let part = pin("bore passage dia 7 through\nbore seat dia 10 depth 10 from front")
        .replace("order", "pin front first\norder");
    for mode in [Guided, Collet] {
        let said = on(mode, "", &part);
        // Nothing is drilled with less than what is there.
        let order: Vec<f64> = works(&said, Work::Drill).iter().map(|(op, _)| op.depth.to_mm()).collect();
        assert!(order == [7.0] || order == [7.0, 10.0], "{order:?}");
        assert_eq!(works(&said, Work::Centre).len(), 1);
        let later = said
            .works
            .iter()
            .position(|w| *w == Work::Bore)
            .is_none_or(|b| b > said.works.iter().position(|w| *w == Work::Drill).unwrap());
        assert!(later, "{:?}", said.works);
    }
}

#[test]
fn a_drill_opens_a_bore_while_enough_is_left_to_cut() {
    let opens = |passage: &str| {
        let lines = format!("bore passage dia {passage} through\nbore seat dia 10 depth 25 from front");
        let part = pin(&lines).replace("order 1_000", "pin front first\norder 100_000").replace("11smn30", "cuzn39pb3");
        let said = on(Collet, "", &part);
        let drilled = sizes(&said, ToolKind::Drill).contains(&10.0);
        assert_ne!(drilled, said.works.contains(&Work::Bore), "{passage}");
        drilled
    };
    assert!(opens("8.5") && !opens("8.6"), "85 %");
}

#[test]
fn a_small_bore_is_drilled_only_where_a_wider_one_is_not() {
    let stepped = |orifice: &str, first: &str| {
        let lines = format!("bore orifice dia {orifice} through\nbore entry dia 6 depth 20 from back");
        pin(&lines).replace("order", &format!("pin {first} first\norder"))
    };
    let drilled = |said: &Said, side: Side, dia: f64| -> f64 {
        let of = |op: &&(&Operation, f64)| op.0.side == side && (op.0.depth.to_mm() - dia).abs() < 1e-9;
        works(said, Work::Drill).iter().filter(of).map(|(_, along)| *along).sum()
    };
    // From the front only the ten millimetres in front of the wide bore.
    let front = on(Guided, "", &stepped("2", "front"));
    assert_eq!((drilled(&front, Side::Main, 2.0), drilled(&front, Side::Sub, 6.0)), (10.0, 20.0));
    assert!(!front.works.contains(&Work::PeckDrill) && !front.works.contains(&Work::DeepDrill));
    // From the back out of the wide bore, which is there first.
    let back = on(Guided, "", &stepped("2", "back"));
    assert_eq!((drilled(&back, Side::Main, 2.0), drilled(&back, Side::Main, 6.0)), (10.0, 20.0));
    let order: Vec<f64> = works(&back, Work::Drill).iter().map(|(op, _)| op.depth.to_mm()).collect();
    assert_eq!(order, [6.0, 2.0]);
    // A shank of 3 mm follows its drill into a bore of 3.5 mm; else the other end is where it is drilled from.
    for (wide, side) in [("3.5", Side::Main), ("3.4", Side::Sub)] {
        let narrow = stepped("1.6", "back").replace("dia 6 depth 20", &format!("dia {wide} depth 24"));
        assert_eq!(drilled(&on(Guided, "", &narrow), side, 1.6), 6.0, "{wide}");
    }
    // Half the diameter and more is a pilot.
    for (orifice, along) in [("2.9", 10.0), ("3", 30.0)] {
        let said = on(Guided, "", &stepped(orifice, "front"));
        let drills = [Work::Drill, Work::DeepDrill, Work::PeckDrill].map(|work| works(&said, work)).concat();
        let lengths = drills.iter().filter(|(op, _)| op.side == Side::Main).map(|(_, along)| *along);
        let made = lengths.fold(0.0, f64::max);
        assert_eq!(made, along, "{orifice}");
    }
}

#[test]
fn a_small_reamer_takes_off_little() {
    let part = pin("bore jet dia 0.35 ±0.01 depth 1.5 from front").replace("11smn30", "cuzn39pb3");
    let said = on(Guided, "", &part);
    assert!(said.works.contains(&Work::Ream));
    assert_eq!(sizes(&said, ToolKind::Drill), [0.32]);
}

#[test]
fn a_pilot_is_two_diameters_deep() {
    let part = pin("bore duct dia 2 depth 24 from back");
    let said = on(Guided, "", &part);
    let pilot = said.operations.iter().find(|op| said.tools[op.tool].kind == ToolKind::PilotDrill).unwrap();
    let (zone, deep) =
        (pilot.zone.unwrap(), said.operations.iter().find(|op| said.tools[op.tool].kind == ToolKind::DeepHoleDrill));
    assert_eq!((zone.start.to_mm(), zone.end.to_mm()), (26.0, 30.0));
    assert_eq!(deep.unwrap().zone.unwrap().length().to_mm(), 24.0);
}

#[test]
fn a_thread_inside_asks_for_reach_and_a_slow_axis() {
    let nut = |length: u32| {
        format!(
            "material cusn8\nlength {length} ±0.2\norder 100 repeat\nturn body dia 28 ±0.1 z 0 .. {length}\n\
             bore core dia 12 H8 through\nthread spin Tr 16x4 7H internal depth {length} from front"
        )
    };
    let said = |length: u32, changes: &str| on(Collet, changes, &nut(length));
    let long = said(35, "");
    assert!(long.works.contains(&Work::SinglePoint), "{:?}", long.works);
    // 12 less 2.25 of tooth and 0.2 of air leave 8 mm of the bars that are kept: 4.4 D.
    assert_eq!(sizes(&long, ToolKind::InternalThreadingTool), [8.0]);
    assert_eq!(long.worst("boring-reach"), Verdict::Warns, "{:#?}", long.of("boring-reach"));
    assert_eq!(said(32, "").worst("boring-reach"), Verdict::Fits, "four diameters");
    let threading = works(&long, Work::SinglePoint)[0].0;
    assert_eq!(threading.speed.to_rpm(), 400.0);
    let own = judged(Collet, "", &nut(35), "", "thresholds: { inner-thread-feed: 1.2 m/min, threading-bar: 5 }");
    assert_eq!((works(&own, Work::SinglePoint)[0].0.speed.to_rpm(), own.worst("boring-reach")), (300.0, Verdict::Fits));
}

#[test]
fn the_finishing_tool_is_the_first_to_make_place() {
    // Rough and finish, back, groove, two threads, cut-off: seven for six places. Milling a thread would take longer.
    let part = "material 11smn30\nlength 33 ±0.2\norder 1_000 repeat\npin back first\nstock hex 19 h11 drawn\n\
                thread tube M14 x 1.5 6g z 0 .. 10\nundercut relief-1 dia 11.7 z 10 .. 12.5\n\
                hex grip across 19 z 12.5 .. 19.5 as-stock\nundercut relief-2 dia 11.2 z 19.5 .. 21.5\n\
                thread stud G 1/4 A z 21.5 .. 33";
    let said =
        |places: u32| on(Collet, &format!("carrier gang {{ fixed {places} }} mode collet {{ stock h11 }}"), part);
    let choices = |said: &Said| -> Vec<Finding> {
        said.of("tool-places").into_iter().filter(|f| f.reason.contains("so that every tool")).cloned().collect()
    };
    let (tight, roomy) = (said(6), said(7));
    assert!(
        choices(&roomy).is_empty()
            && roomy.tools.iter().any(|t| t.kind == ToolKind::FinishingTool && t.side == Side::Main)
    );
    assert!(!tight.works.contains(&Work::ThreadMill), "{:?}", tight.works);
    assert!(!tight.tools.iter().any(|t| t.kind == ToolKind::FinishingTool && t.side == Side::Main));
    let told = choices(tight.is_possible());
    assert_eq!(told.iter().map(|f| f.verdict).collect::<Vec<_>>(), [Verdict::Fits], "{told:#?}");
    assert!(told[0].reason.contains("one turning tool"), "{}", told[0].reason);
    // A fine land wants an edge of its own: then a thread is milled.
    for (asked, is_milled) in [
        ("h9  z 17 .. 19.5  finish 1.6 um", false),
        ("h9  z 17 .. 19.5  finish 1.5 um", true),
        ("h8  z 17 .. 19.5", true),
    ] {
        let land = part.replace("12.5 .. 19.5 as-stock", &format!("12.5 .. 17 as-stock\nturn land  dia 15 {asked}"));
        let said = on(Collet, "carrier gang { fixed 6 } mode collet { stock h11 }", &land);
        assert_eq!(said.is_possible().works.contains(&Work::ThreadMill), is_milled, "{asked}");
    }
    // One place less still, and a thread is milled after all: that costs time.
    let milled = said(5);
    assert!(milled.works.contains(&Work::ThreadMill));
    let warns =
        |said: &Said| choices(said).iter().any(|f| f.verdict == Verdict::Warns && f.reason.contains("thread-mill"));
    assert!(warns(&milled));
    // Of 41.3 s instead of 8.6 s.
    let share = (41.3 - 8.6) / milled.cycle_s * 100.0;
    let own = |share: f64| {
        let shop = format!("thresholds: {{ place-loss: {share} % }}");
        judged(Collet, "carrier gang { fixed 5 } mode collet { stock h11 }", part, "", &shop)
    };
    assert!(warns(&own(share - 0.2)) && !warns(&own(share + 0.2)), "{share}");
}

#[test]
fn a_way_that_takes_less_time_is_no_loss_of_places() {
    // No room for the mill of the thread: the die is quicker, and its flank is what the rule about methods warns of.
    let without_live =
        machine("serves main  axes x, y  y -30 .. 30  live 4", "serves main  axes x, y  y -30 .. 30  live 1");
    let part = "material 11smn30\nlength 30 ±0.2\norder 1_000 repeat\npin front first\nturn body dia 12 ±0.1 z 8 .. 30\n\
                thread nose M6 x 1 6g z 0 .. 8\nhole a dia 3 at 20 angle 90 deg depth 3";
    let said = judged_on(&without_live, Guided, "carrier gang { fixed 2 } carrier tilt { angle 60 deg }", part, "", "");
    assert!(said.is_possible().works.contains(&Work::Die), "{:?}", said.works);
    assert_eq!(said.worst("tool-places"), Verdict::Fits, "{:#?}", said.of("tool-places"));
    assert_eq!(said.worst("thread-method"), Verdict::Warns, "{:#?}", said.of("thread-method"));
}

#[test]
fn an_inner_groove_is_cut_from_the_other_end_for_want_of_a_place() {
    let said = |places: u32, from: f64| {
        let part = pin(&format!("bore guide dia 8 H7 through\ngroove ring internal dia 9 z {from} .. {}", from + 2.0))
            .replace("order", "pin front first\norder");
        on(Collet, &format!("carrier end {{ fixed {places} }}"), &part)
    };
    let side = |said: &Said| works(said, Work::InternalGroove)[0].0.side;
    // Centre drill, drill, grooving tool, reamer, of which one stands in the tilting head; the reamer takes the burr off.
    let roomy = said(3, 12.0);
    assert_eq!((side(&roomy), roomy.is_possible().worst("exit-burr")), (Side::Main, Verdict::Fits));
    let tight = said(2, 12.0);
    assert_eq!((side(&tight), tight.is_possible().worst("exit-burr")), (Side::Sub, Verdict::Warns));
    assert_eq!(tight.worst("tool-places"), Verdict::Warns);
    // A neck of 6.4 mm reaches 25.6 mm from the back.
    said(2, 4.4).is_possible();
    said(2, 4.3).refused_by("tool-places");
}

#[test]
fn a_slitting_saw_asks_the_holder_for_its_arbor() {
    let part = pin("slot grip width 0.6 depth 1.5 z 2 .. 10");
    let said = |collet: &str| {
        let carriers = format!(
            "carrier cross {{ collet .. {collet} }} carrier tilt {{ collet .. {collet} }} carrier back {{ collet .. {collet} }}"
        );
        on(Guided, &carriers, &part)
    };
    assert_eq!(said("4").worst("holder-size"), Verdict::Fits, "{:#?}", said("4").of("holder-size"));
    said("3.5").refused_by("holder-size");
}

#[test]
fn a_short_deep_hole_asks_for_less_pressure_than_a_long_one() {
    let asked = |depth: u32| {
        let part = pin(&format!("pin front first\nbore duct dia 3 depth {depth} from front"))
            .replace("11smn30", "42crmo4")
            .replace("30 ±0.2", "80 ±0.2")
            .replace("0 .. 30", "0 .. 80");
        on(Guided, "coolant oil 20 bar", &part).of("deep-hole")[0].asked.value().unwrap()
    };
    // 60 bar at 20 D and beyond; at 8 D 0.4 and a fifth of the rest of it.
    assert!((asked(60) - 60.0).abs() < 1e-9 && (asked(72) - 60.0).abs() < 1e-9, "{} {}", asked(60), asked(72));
    assert!((asked(24) - 60.0 * (0.4 + 0.6 * 0.2)).abs() < 1e-9, "{}", asked(24));
}

#[test]
fn a_small_machine_picks_off_in_half_the_time() {
    let picked = |bar: &str| {
        let said = on(
            Guided,
            &format!("mode guided {{ bar 1 .. {bar} }} mode collet {{ bar 1 .. {bar} }}"),
            &pin("").replace("dia 12 ±0.1", "dia 8 ±0.1"),
        );
        said.slots.iter().find(|s| s.doing == super::Doing::PickOff).unwrap().moving.to_s()
    };
    assert!(
        (picked("20") - 4.2).abs() < 1e-9 && (picked("12") - 2.2).abs() < 1e-9,
        "{} {}",
        picked("20"),
        picked("12")
    );
}

#[test]
fn aluminium_is_cut_by_a_drill_however_thin_its_chip() {
    let bush = |material: &str| {
        format!(
            "material {material}\nlength 40 ±0.2\norder 500 repeat\nturn body dia 24 ±0.1 z 0 .. 40\nbore way dia 14 through"
        )
    };
    let weak = "mode guided { clamp 3 kN }";
    assert_eq!(on(Guided, weak, &bush("al-6061-t6")).worst("chip-thickness"), Verdict::Fits);
    let tough = on(Guided, weak, &bush("316l"));
    let told = tough.of("chip-thickness").into_iter().find(|f| f.verdict == Verdict::Warns).unwrap();
    assert!(told.reason.contains("hardens the bottom"), "{}", told.reason);
    // Behind the bar there is no place for a stop.
    assert!(!told.remedy.as_deref().unwrap().contains("stop"), "{:?}", told.remedy);
}
