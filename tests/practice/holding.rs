//! What holds the piece while it is cut.

use super::*;
use turnwright::matching::Figure;

/// A mode that supports the free end by the sub-spindle.
const PROPPED: &str = "mode supported { bar 2 .. 32 stick-out 200 stock h11 remnant 70 spread 6 um roundness 1 um runout 5 um \
                       clamp 10 kN }";

fn propped(part: &str) -> Said {
    on(Supported, PROPPED, part)
}

#[test]
fn a_sub_spindle_supports_no_end_that_is_still_to_be_made() {
    // 80 mm of 12 mm: behind the chamfer the collet covers 9.6 mm, so the end is worked as far before it grips.
    let long = pin("chamfer 0.5 x 45 deg at 0 outside\nbore eye dia 4 depth 8 from front")
        .replace("order", "pin front first\norder")
        .replace("30 ±0.2", "80 ±0.2")
        .replace("0 .. 30", "0 .. 80");
    let said = propped(&long);
    let supported = said.slots.iter().position(|s| s.doing == Doing::Support).unwrap();
    let before: Vec<&Operation> = said.slots[..supported]
        .iter()
        .filter_map(|s| if let Doing::Operation(i) = s.doing { Some(&said.operations[i]) } else { None })
        .collect();
    for work in [Work::Face, Work::Drill, Work::Chamfer, Work::FinishTurn] {
        assert!(before.iter().any(|o| o.work == work), "{work:?}");
    }
    let turned = |o: &&&Operation| o.work == Work::FinishTurn;
    let join = before.iter().find(turned).unwrap().zone.unwrap().end.to_mm();
    assert!((join - 10.1).abs() < 1e-9, "{join}");
    let rest = said.operations.iter().rfind(|o| turned(&o)).unwrap();
    assert!((rest.zone.unwrap().start.to_mm() - join).abs() < 1e-9);
    assert!(
        rest.order_reason.is_some_and(|r| r.contains("sub-spindle holds the end")) || {
            let first = said.operations.iter().find(|o| o.zone == rest.zone).unwrap();
            first.order_reason.unwrap().contains("sub-spindle holds the end")
        }
    );
    // A join on a surface that shows it is told.
    assert_eq!(said.worst("stand-out"), Verdict::Fits);
    let tight = propped(&long.replace("12 ±0.1", "12 h6"));
    assert_eq!(tight.worst("stand-out"), Verdict::Warns);
    assert!(
        tight.of("stand-out").iter().any(|f| f.reason.contains("a join at 10.1 mm")),
        "{:#?}",
        tight.of("stand-out")
    );
}

#[test]
fn the_end_that_is_gripped_bends_like_work_out_of_the_collet() {
    // A short part is worked as a whole before anything supports it: no better than out of the collet.
    let short = pin("").replace("12 ±0.1", "12 ±0.005");
    let cp = |said: &Said| said.of("capability")[0].offered.value().unwrap();
    assert!((cp(&propped(&short)) - cp(&on(Collet, "", &short))).abs() < 1e-6);
    // A seat at the free end that the collet covers gains nothing by the support; one beyond it does.
    let stepped = |seat: &str| {
        format!(
            "material c45\nlength 70 ±0.2\norder 1_000 repeat\npin front first\nturn seat dia 12 {seat} z 0 .. 10\n\
             turn body dia 14 ±0.1 z 10 .. 70"
        )
    };
    let force = |said: &Said| match &said.of("capability")[0].offered {
        Figure::Number(cp) => *cp,
        other => panic!("{other:?}"),
    };
    let end = propped(&stepped("±0.01"));
    let alone = on(Collet, "", &stepped("±0.01"));
    // Ten millimetres stand out instead of seventy.
    assert!(force(&end) > force(&alone));
}

/// A journal of 6 mm at the end that is gripped, a keyway 72 mm further out.
const FAR_KEY: &str = "material 11smn30\npin front first\nlength 90 ±0.2\norder 1_000 repeat\nturn journal dia 6 ±0.1 z 0 .. 10\n\
                       turn body dia 10 ±0.1 z 10 .. 80\nthread lift M10 z 10 .. 78\nturn seat dia 9 ±0.1 z 80 .. 90\n\
                       keyway key width 2 P9 depth 1 z 82 .. 88";

#[test]
fn nothing_is_milled_far_out_of_a_thin_journal() {
    let at_sub = "carrier cross { serves sub } carrier tilt { serves sub }";
    let said = on(Guided, at_sub, FAR_KEY);
    let refused = said.refused_by("hand-over");
    assert!(refused.reason.contains("`key` lies 72 mm out of the sub-spindle"), "{}", refused.reason);
    // Where the main spindle can mill it, it does, however busy it is.
    let said = on(Guided, "", FAR_KEY);
    assert!(said.operations.iter().all(|o| o.work != Work::MillKeyway || o.side == Side::Main));
    assert_ne!(said.worst("hand-over"), Verdict::Refused);
    // Within five diameters of the grip it stands still.
    let near = FAR_KEY
        .replace("length 90", "length 50")
        .replace("10 .. 80", "10 .. 38")
        .replace("10 .. 78", "10 .. 36")
        .replace("80 .. 90", "38 .. 50")
        .replace("82 .. 88", "40 .. 46");
    assert_ne!(on(Guided, at_sub, &near).worst("hand-over"), Verdict::Refused);
}

#[test]
fn a_drill_that_the_grip_holds_back_is_told_of() {
    let part = |material: &str, dia: &str| {
        pin(&format!("bore hole dia {dia} depth 20 from front"))
            .replace("order", "pin front first\norder")
            .replace("11smn30", material)
            .replace("dia 12", "dia 20")
    };
    let feed = |said: &Said, dia: f64| {
        let there = |o: &&Operation| o.work == Work::Drill && (o.depth.to_mm() - dia).abs() < 1e-9;
        said.operations.iter().find(there).unwrap().feed.to_mm_per_rev() / dia
    };
    // Two thirds of the usual feed, about a hundredth of the diameter.
    const FLOOR: f64 = 0.65 * 0.015 - 1e-9;
    let clamp = |kn: &str| format!("mode guided {{ clamp {kn} kN }}");
    // A setter drills 4.2 mm in C45 at 0.04 and more; 15.6 mm in stainless after a pilot at 0.15 and more.
    let small = on(Guided, &clamp("10"), &part("c45", "4.2"));
    assert!(feed(&small, 4.2) >= FLOOR, "{}", feed(&small, 4.2));
    assert_eq!(small.worst("chip-thickness"), Verdict::Fits);
    let large = on(Guided, &clamp("16"), &part("1.4305", "15.6"));
    assert!(feed(&large, 15.6) >= FLOOR, "{}", feed(&large, 15.6));
    assert_eq!(large.is_possible().worst("chip-thickness"), Verdict::Fits);
    // Held back further it rubs, and a drill that rubs hardens stainless steel.
    let weak = on(Guided, &clamp("3"), &part("1.4305", "4.9"));
    assert!(feed(&weak, 4.9) < FLOOR, "{}", feed(&weak, 4.9));
    assert!(weak.of("chip-thickness").iter().any(|f| f.reason.contains("rubs")), "{:#?}", weak.of("chip-thickness"));
}

#[test]
fn roughing_out_of_the_collet_goes_as_deep_as_the_bar_stands() {
    let part = "material c45\nlength 30 ±0.2\norder 1_000 repeat\npin front first\nstock round 13 h11 drawn\n\
                turn stem dia 8 ±0.1 z 0 .. 15\nturn body dia 12 ±0.1 z 15 .. 30";
    let said = on(Collet, "", part);
    let rough = said.operations.iter().find(|o| o.work == Work::RoughTurn).unwrap();
    // 2.3 mm of depth in two passes: three diameters of steel bar stand 1 to 2 mm.
    assert_eq!(rough.passes, 2, "{rough:?}");
    // A thin shaft stands less.
    let thin = part
        .replace("30 ±0.2", "70 ±0.2")
        .replace("dia 12 ±0.1 z 15 .. 30", "dia 6 ±0.1 z 15 .. 70")
        .replace("dia 8", "dia 5");
    let rough = on(Collet, "", &thin);
    assert!(rough.operations.iter().filter(|o| o.work == Work::RoughTurn).any(|o| o.passes > 2));
}

#[test]
fn the_blank_of_a_thread_bends_like_any_diameter() {
    // A stud out of the collet: its crests have 106 um to lie in, as any turned diameter.
    let stud = |length: u32| {
        format!(
            "material 42crmo4\nlength {length} ±0.2\norder 500 repeat\npin front first\nthread all M4 x 0.7 6g z 0 .. {length}"
        )
    };
    let short = on(Collet, "", &stud(10));
    assert_eq!(short.is_possible().worst("capability"), Verdict::Fits, "{:#?}", short.of("capability"));
    // ISO 965-1, table of T_d: 140 um of 6g at a pitch of 0.7 mm.
    let tolerance = short.of("capability")[0].reason.to_string();
    assert!(tolerance.contains("(140 um tolerance"), "{tolerance}");
    on(Collet, "", &stud(60)).refused_by("capability");
    // Beside a bushing it bends alike all along.
    assert_eq!(on(Guided, "", &stud(60)).worst("capability"), Verdict::Fits);
}

#[test]
fn the_collet_stays_clear_of_a_drill_that_comes_out_beside_it() {
    let flange = |holes: &str| {
        format!(
            "material al-6061-t6\nlength 22 ±0.1\norder 200 repeat\npin back first\nturn rim dia 30 ±0.1 z 0 .. 7\n\
             turn hub dia 14 ±0.1 z 7 .. 22\n{holes}"
        )
    };
    let grip = |holes: &str| on(Collet, "", &flange(holes)).of("hand-over")[0].offered.value().unwrap();
    let bolts = "hole bolts dia 4 ±0.1 angle 0 deg on circle 22 at 0 opens front count 4 clock 0 deg";
    assert!((grip(&format!("{bolts} depth 5")) - 15.0).abs() < 1e-9);
    // Its point of 140 deg stands 0.73 mm out of 4 mm, and it goes on by 1 mm.
    let clear = grip(&format!("{bolts} through"));
    assert!((clear - (15.0 - 1.0 - 2.0 / 70f64.to_radians().tan())).abs() < 1e-6, "{clear}");
}

#[test]
fn an_end_that_is_worked_before_its_support_runs_as_true_as_out_of_the_collet() {
    let shaft = |datum: &str| {
        format!(
            "material 42crmo4\nlength 100 ±0.2\norder 500 repeat\npin front first\nturn nose dia 10 ±0.1 z 0 .. 2\n\
             turn seat dia 12 ±0.1 z 2 .. 12\nturn body dia 16 ±0.1 z 12 .. 60\nturn end dia 14 ±0.1 z 60 .. 100\n\
             runout nose to {datum} 0.01"
        )
    };
    // The collet runs true to 3 um, the piece held at both ends to 15 um.
    let mode = PROPPED.replace("runout 5 um", "runout 15 um");
    let end = on(Supported, &mode, &shaft("seat"));
    assert_eq!(end.worst("runout"), Verdict::Fits, "{:#?}", end.of("runout"));
    let across = on(Supported, &mode, &shaft("end"));
    assert_eq!(across.refused_by("runout").offered.value(), Some(0.015));
}

#[test]
fn a_whirling_ring_pushes_the_free_end_aside() {
    let head = "option whirling { method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 14 \
                ring-speed .. 5_000 rpm cutters 6 occupies cross 1 live mount 35 min }";
    let screw = |mode, length: u32| {
        let part = format!(
            "material ti-6al-4v-eli\nlength {} ±0.2\norder 1_000 repeat\npin front first\nstock round 8 h8\n\
             thread bone form profile major 4 core 3 pitch 1.75 flanks 30 deg z 0 .. {length}\n\
             turn neck dia 3 ±0.1 z {length} .. {1}\nturn head dia 7 ±0.1 z {1} .. {0}",
            length + 5,
            length + 1
        );
        judged(mode, head, &part, ", owned: { whirling: 1 }", "")
    };
    let long = screw(Collet, 16);
    assert!(long.works.contains(&Work::Whirl), "{:?}", long.works);
    let finding = &long.of("push-off")[0];
    assert_eq!(finding.verdict, Verdict::Warns);
    assert!(finding.reason.contains("the ring's cut"), "{}", finding.reason);
    // Stubby, or beside a bushing, it stands.
    assert_eq!(screw(Collet, 3).worst("push-off"), Verdict::Fits);
    assert!(screw(Guided, 16).of("push-off").is_empty());
}

#[test]
fn a_groove_is_cut_before_its_stretch_has_left_the_bushing_far() {
    let part = "material 11smn30\nlength 20 ±0.2\norder 1_000 repeat\npin front first\nturn tail dia 2 ±0.05 z 0 .. 8\n\
                groove barb dia 1.6 z 1 .. 2\nturn head dia 4 ±0.05 z 8 .. 20";
    let said = on(Guided, "", part);
    let groove = said.works.iter().position(|w| *w == Work::Groove).unwrap();
    let head = said
        .operations
        .iter()
        .position(|o| o.work == Work::Turn && o.zone.is_some_and(|z| z.end.to_mm() > 15.0))
        .unwrap();
    assert!(groove < head, "{:?}", said.works);
}

#[test]
fn a_chamfer_is_no_reason_for_a_special_collet() {
    let part = |plain: f64| {
        format!(
            "material 11smn30\nlength 12 ±0.02\norder 1_000 repeat\npin front first\nturn head dia 3 ±0.05 z 0 .. {plain}\n\
             taper cone dia 3 .. 1.5 z {plain} .. 12"
        )
    };
    let said = |plain: f64| on(Guided, "mode guided { bar 1 .. 20 } spindle sub { grip 1 .. 20 }", &part(plain));
    assert_eq!(said(3.7).is_possible().worst("hand-over"), Verdict::Fits, "{:#?}", said(3.7).of("hand-over"));
    assert_eq!(said(3.5).worst("hand-over"), Verdict::Warns, "{:#?}", said(3.5).of("hand-over"));
}

#[test]
fn the_crests_of_a_thread_hold_what_a_short_collar_does_not() {
    let post = "material ti-6al-4v-eli\nlength 14 ±0.1\norder 500 repeat\npin back first\nturn platform dia 3.6 ±0.1 z 0 .. 1.2\n\
                turn neck dia 2.4 ±0.1 z 1.2 .. 2\nthread bone form profile major 3.5 core 2.6 pitch 0.7 flanks 60 deg z 2 .. 13\n\
                turn tip dia 2 ±0.1 z 13 .. 14\nbore way dia 1.2 depth 4 from front";
    let said = on(Guided, "", post);
    assert_eq!(said.is_possible().worst("hand-over"), Verdict::Warns, "{:#?}", said.of("hand-over"));
    let told = &said.of("hand-over")[0].reason;
    assert!(told.contains("crests"), "{told}");
}
