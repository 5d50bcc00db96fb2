//! Room for tools: what they run out into, reach through and stand in.

use super::*;

fn bush(lines: &str) -> String {
    format!("material c45\nlength 40 ±0.1\norder 500 repeat\nturn body dia 18 ±0.1 z 0 .. 40\n{lines}")
}

#[test]
fn discs_that_straddle_flats_need_room_on_both_sides() {
    let flats = |z: &str| pin(&format!("flat key from-axis 4 z {z} count 2"));
    let straddles = |part: &str| on(Guided, "", part).is_possible().works.contains(&Work::StraddleMill);
    // Over a chord of 8.9 mm a disc of 30 mm runs out by 13.7 mm into the body on either side.
    assert!(!straddles(&flats("12 .. 18")));
    // Towards the bar it would cut the next piece.
    assert!(!straddles(&flats("24 .. 30").replace("order", "pin front first\norder")));
    // An end whose other side is turned down to what the discs leave between them is free.
    let necked = "material 11smn30\nlength 30 ±0.2\norder 1_000 repeat\nturn head dia 12 ±0.1 z 0 .. 6\n\
                  turn neck dia NECK ±0.1 z 6 .. 30\nflat key from-axis 4 z 0 .. 6 count 2\npin front first";
    assert!(straddles(&necked.replace("NECK", "8")));
    assert!(!straddles(&necked.replace("NECK", "8.1")));
}

#[test]
fn a_thread_does_not_end_at_a_shoulder_without_a_relief() {
    let bolt = |relief: &str| {
        format!(
            "material 42crmo4\nlength 40 ±0.2\norder 500 repeat\nturn head dia 16 ±0.1 z 0 .. 8\n\
             thread shank M10 x 1.5 6g z 8 .. 40\n{relief}"
        )
    };
    let bare = on(Collet, "", &bolt(""));
    let finding = bare.of("run-out")[0];
    // 1.25 pitches.
    assert_eq!(
        (finding.verdict, finding.asked.value(), finding.offered.value()),
        (Verdict::Warns, Some(1.875), Some(0.0))
    );
    let relieved = |width: f64| on(Collet, "", &bolt(&format!("groove relief dia 7.8 z 8 .. {}", 8.0 + width)));
    assert_eq!(relieved(1.88).worst("run-out"), Verdict::Fits);
    assert_eq!(relieved(1.87).worst("run-out"), Verdict::Warns);
    // A groove that is shallower than the thread lets no tool out.
    let shallow = on(Collet, "", &bolt("groove relief dia 9 z 8 .. 10"));
    assert_eq!(shallow.worst("run-out"), Verdict::Warns);
}

#[test]
fn a_grooving_bar_in_a_bore_reaches_as_far_as_it_is_stout() {
    let ring = |from: f64| {
        let lines = format!("bore guide dia 12 H9 through\ngroove ring internal dia 13.4 z {from} .. {}", from + 1.1);
        on(Collet, "", &bush(&lines).replace("length 40", "length 80").replace(".. 40", ".. 80"))
    };
    // 12 mm less 0.7 of groove and 0.5 of air leave a bar of 10 mm: 4 D in steel, 7 in carbide.
    assert_eq!(ring(38.0).worst("boring-reach"), Verdict::Fits);
    let deep = ring(38.0);
    let told = deep.of("boring-reach")[0].reason.to_string();
    assert!(told.contains("a bar of 10 mm"), "{told}");
}

#[test]
fn a_tap_stands_on_its_reduced_shank() {
    let part = bush("bore core dia 8.5 +0.2/-0 through\nthread inner M10 x 1.5 6H internal depth 15 from front");
    let held = |dia: f64| {
        let carriers = format!(
            "carrier end {{ sleeve .. {dia} }} carrier tilt {{ collet .. {dia} }} carrier back {{ collet .. {dia} }}"
        );
        on(Collet, &carriers, &part)
    };
    let tapped = held(8.5);
    assert!(tapped.works.contains(&Work::Tap), "{:?}", tapped.works);
    assert_eq!(tapped.worst("holder-size"), Verdict::Fits, "{:#?}", tapped.of("holder-size"));
}

#[test]
fn a_reamed_bore_is_true_enough_where_the_drawing_says_how_true() {
    let said =
        |asked: &str| on(Collet, "", &bush(&format!("bore hole dia 6 H7 through\nconcentricity hole to body {asked}")));
    let works = |said: &Said| (said.works.contains(&Work::Ream), said.works.contains(&Work::Bore));
    // 3 um of the mode and 40 um that a drill wanders over 40 mm; half of that behind a mouth bored true.
    let loose = said("0.05");
    assert_eq!(works(loose.is_possible()), (true, false));
    assert_eq!(loose.worst("runout"), Verdict::Fits);
    let trued = said("0.03");
    assert_eq!(works(trued.is_possible()), (true, true));
    assert_eq!(trued.worst("runout"), Verdict::Fits);
    // Before the reamer, over a diameter and a half.
    let order: Vec<Work> = trued.works.iter().copied().filter(|w| matches!(w, Work::Bore | Work::Ream)).collect();
    assert_eq!(order, [Work::Bore, Work::Ream]);
    // What neither holds is bored through, as far as a bar reaches.
    assert!(!works(&said("0.02")).0);
}

#[test]
fn a_wider_channel_never_lets_a_bar_run_faster() {
    let good_for = |channel: f64| {
        let said = on(Collet, &format!("feeder {{ channel {channel} }}"), &pin("chamfer 1 x 45 deg at 0 outside"));
        said.fastest
    };
    let mut last = f64::INFINITY;
    for channel in [13.0, 14.0, 15.0, 16.0, 17.0, 18.0, 20.0] {
        let now = good_for(channel);
        assert!(now <= last, "{channel}: {now} after {last}");
        last = now;
    }
}

#[test]
fn a_knurl_is_rolled_slowly() {
    let said = on(Collet, "", &pin("knurl grip pitch 0.8 z 2 .. 12 form RAA").replace("11smn30", "al-6061-t6"));
    let knurl = said.operations.iter().find(|o| o.work == Work::Knurl).unwrap();
    let m_per_min = knurl.speed.to_rpm() * std::f64::consts::PI * 12.0 / 1000.0;
    assert!((20.0..=50.0).contains(&m_per_min), "{m_per_min} m/min");
}

#[test]
fn a_thread_inside_its_own_blank_runs_out_over_the_rest_of_it() {
    let worm = |to: f64| {
        format!(
            "material 11smn30\nlength 40 ±0.2\norder 500 repeat\npin front first\nturn journal dia 6 ±0.1 z 0 .. 8\n\
             turn blank dia 10 ±0.1 z 8 .. 30\n\
             thread worm form profile major 10 core 7.75 pitch 1.5708 flanks 40 deg starts 2 z 12 .. {to}\n\
             turn neck dia 6 ±0.1 z 30 .. 40"
        )
    };
    // Two starts: a lead of 3.1416 mm, 1.25 of it to run out.
    let said = on(Guided, "", &worm(28.0));
    let finding = said.of("run-out")[0];
    assert_eq!(finding.verdict, Verdict::Warns);
    assert!((finding.asked.value().unwrap() - 3.927).abs() < 1e-3, "{finding:?}");
    assert!((finding.offered.value().unwrap() - 2.0).abs() < 1e-9, "{finding:?}");
    assert!(finding.reason.contains("2 mm inside its own blank"), "{}", finding.reason);
    assert_eq!(on(Guided, "", &worm(26.0)).worst("run-out"), Verdict::Fits);
    assert!(!on(Guided, "", &worm(26.0)).of("run-out").is_empty());
}

#[test]
fn beside_a_bushing_the_run_out_is_turned_before_the_thread_is_cut() {
    let part = "material 11smn30\nlength 60 ±0.2\norder 500 repeat\npin front first\nthread end M8 x 1 6g z 0 .. 12\n\
                turn stem dia 6 ±0.05 z 12 .. 50\nturn head dia 12 ±0.1 z 50 .. 60";
    let said = on(Guided, "", part);
    let cut = said.works.iter().position(|w| *w == Work::SinglePoint).unwrap();
    let turned = said.operations[..cut].iter().filter_map(|o| o.zone).map(|z| z.end.to_mm()).fold(0.0, f64::max);
    assert!((turned - 13.3).abs() < 1e-9, "{turned}: {:?}", said.works);
    assert_eq!(said.worst("run-out"), Verdict::Fits);
}

#[test]
fn a_re_grip_falls_where_the_drawing_lets_it() {
    let shaft = |long: u32, fit: &str| {
        format!(
            "material 11smn30\nlength 300 ±0.2\norder 500 repeat\npin front first\nturn a dia 10 ±0.1 z 0 .. 40\n\
             turn body dia 12 {fit} z 40 .. {long}\nturn b dia 10 ±0.1 z {long} .. 300"
        )
    };
    let stroke = "mode guided { stroke 200 }";
    let told =
        |part: &str| on(Guided, stroke, part).of("stand-out").iter().map(|f| f.reason.to_string()).collect::<String>();
    // A shoulder between 104 and 200 mm is within reach of one re-grip.
    assert!(
        told(&shaft(150, "±0.05")).contains("1 re-grip")
            && told(&shaft(150, "±0.05")).contains("falls between surfaces")
    );
    // A body longer than the stroke gets the witness, whatever is done.
    let long = told(&shaft(260, "±0.05"));
    assert!(long.contains("falls on `body`: a witness on it"), "{long}");
    // A fit that it would spoil and one stroke covers is spared by one more re-grip; a longer one is refused.
    let spared = on(Guided, stroke, &shaft(230, "h5"));
    assert!(spared.of("stand-out")[0].reason.contains("2 re-grips"), "{:#?}", spared.of("stand-out"));
    assert_eq!(spared.worst("stand-out"), Verdict::Warns);
    assert_eq!(on(Guided, stroke, &shaft(260, "h5")).worst("stand-out"), Verdict::Refused);
}

#[test]
fn a_slotted_head_is_sawn_on_a_small_machine() {
    let said = on(
        Guided,
        "carrier cross { collet .. 4 } carrier tilt { collet .. 4 }",
        &pin("socket drive slot 0.8 depth 1 from front"),
    );
    assert_eq!(said.is_possible().worst("holder-size"), Verdict::Fits, "{:#?}", said.of("holder-size"));
}

#[test]
fn no_second_pass_is_drawn_back_through_a_bushing() {
    // 3.5 mm deep on a weak spindle: the feed gives way, since a second pass would find nothing in the bushing.
    let part = "material 42crmo4\nlength 60 ±0.2\norder 500 repeat\npin front first\nstock round 17 h8\n\
                turn shank dia 10 ±0.1 z 0 .. 56\nturn head dia 16 ±0.1 z 56 .. 60";
    let turned = |power: &str| {
        let said = on(Guided, &format!("spindle main {{ power {power} }}"), part);
        let op = said.operations.iter().find(|o| o.work == Work::Turn).unwrap();
        (op.passes, op.feed.to_mm_per_rev())
    };
    let ((strong, usual), (weak, held_back)) = (turned("11 kW"), turned("2.2 kW"));
    assert_eq!((strong, weak), (1, 1));
    assert!(held_back < usual * 0.7, "{held_back} and {usual}");
}

#[test]
fn a_groove_is_cut_from_what_is_turned_over_it() {
    // A relief of 1.2 mm beside a shoulder of 20 mm: the turning of the seat runs on over it, and so does the blade not.
    let shaft = "material 42crmo4\nlength 60 ±0.2\norder 500 repeat\npin front first\nturn seat dia 12 ±0.1 z 0 .. 40\n\
                 groove relief dia 9.6 z 40 .. 43\ngroove clip dia 11 z 5 .. 6.1\nturn head dia 20 ±0.1 z 43 .. 60";
    for mode in [Guided, Collet] {
        let said = on(mode, "", shaft);
        let depth = |op: &Operation| op.depth.to_mm();
        let deepest = said.operations.iter().filter(|o| o.work == Work::Groove).map(depth).fold(0.0, f64::max);
        assert!((deepest - 1.2).abs() < 1e-9, "{mode:?}: {deepest}");
    }
}

#[test]
fn the_edge_behind_a_groove_is_broken_once_the_groove_is_there() {
    let fitting = "material cuzn39pb3\nlength 40 ±0.2\norder 500 repeat\npin front first\nturn spigot dia 10 ±0.1 z 0 .. 14\n\
                   turn key dia 20 ±0.1 z 14 .. 22\nchamfer 1 x 45 deg at 22 outside\ngroove relief dia 12 z 22 .. 25\n\
                   turn end dia 16 ±0.1 z 25 .. 40";
    let said = on(Collet, "", fitting);
    let at = |work: Work| said.operations.iter().position(|o| o.work == work).unwrap();
    assert!(at(Work::Groove) < at(Work::Chamfer), "{:?}", said.works);
}
