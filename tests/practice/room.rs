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
