//! Burrs and edges: what is cut last, and who takes off what it throws up.

use super::*;

/// Where in the order a kind of work is first and last done.
fn places(said: &Said, work: Work) -> (usize, usize) {
    let first = said.works.iter().position(|w| *w == work).unwrap_or_else(|| panic!("no {work:?} in {:?}", said.works));
    (first, said.works.iter().rposition(|w| *w == work).unwrap())
}

fn sleeve(bore: &str, lines: &str) -> String {
    format!(
        "material 11smn30\nlength 40 ±0.2\norder 1_000 repeat\npin front first\nturn od dia 18 ±0.05 z 0 .. 40\n\
         bore guide dia {bore} through\n{lines}"
    )
}

#[test]
fn a_groove_inside_comes_before_the_last_cut_of_its_bore() {
    // Nearer to the back, and yet cut from the front, from which the bore is finished.
    let said = on(Collet, "", &sleeve("12 H7", "groove ring internal dia 14 z 24 .. 27"));
    assert!(places(&said, Work::InternalGroove).1 < places(&said, Work::Bore).0, "{:?}", said.works);
    assert_eq!(said.worst("exit-burr"), Verdict::Fits);
    // Where no bar reaches it from there, its burr stands in the finished bore.
    let said = on(Collet, "", &sleeve("6 H7", "groove ring internal dia 7 z 34 .. 36"));
    assert_eq!(said.worst("exit-burr"), Verdict::Warns);
    assert!(said.of("exit-burr")[0].reason.contains("stands in the finished bore"));
}

#[test]
fn a_square_hole_into_a_narrow_bore_leaves_a_burr() {
    let part = |hole: &str, from: &str, edges: &str| {
        pin(&format!(
            "pin front first\nbore tail dia 3.3 depth 20 from {from}\nhole vent dia {hole} at 14 angle 90 deg into tail\n{edges}"
        ))
    };
    let said = on(Guided, "", &part("1.5", "front", ""));
    assert_eq!(said.worst("exit-burr"), Verdict::Warns);
    // The drill run through again takes it off; a small hole leaves through an almost square wall.
    assert_eq!(on(Guided, "", &part("1.5", "front", "edges all break .. 0.1")).worst("exit-burr"), Verdict::Fits);
    assert_eq!(on(Guided, "", &part("1.1", "front", "")).worst("exit-burr"), Verdict::Fits);
    // A drill that comes after from the other end presses the burr into the hole.
    let said = on(Guided, "", &part("1.5", "back", ""));
    assert_eq!(said.worst("exit-burr"), Verdict::Warns);
    assert!(said.of("exit-burr")[0].reason.contains("presses the burr into `vent`"));
}

#[test]
fn any_hole_into_a_finished_fit_or_a_sharp_ring_leaves_a_burr_that_counts() {
    // All cross work is at the sub-spindle, after the bore has had its last cut: a hole of 2 mm leaves almost square.
    let at_sub = "carrier cross { serves sub } carrier tilt { serves sub }";
    let part = |fit: &str, lines: &str| {
        sleeve(&format!("12 {fit}"), &format!("hole port dia 2 at 30 angle 90 deg into guide\n{lines}"))
            .replace("z 0 .. 40", "z 0 .. 20\nturn tail dia 17 ±0.05 z 20 .. 40")
    };
    let said = |part: &str| on(Collet, at_sub, part);
    let told = |said: &Said| said.of("exit-burr").iter().map(|f| f.reason.to_string()).collect::<Vec<_>>().join("; ");
    let fine = said(&part("H8", ""));
    assert!(
        told(&fine).contains("`port` breaks into `guide` after its last cut: a burr on a finished fit"),
        "{}",
        told(&fine)
    );
    assert_eq!(fine.worst("exit-burr"), Verdict::Warns);
    assert_eq!(said(&part("H9", "")).worst("exit-burr"), Verdict::Fits);
    let sharp = said(&part("H9", "edges guide sharp .. 0.02"));
    assert!(told(&sharp).contains("an edge that must be sharp"), "{}", told(&sharp));
    // At the main spindle the bore is finished after the hole; a ring stands before it, and keeps its burr.
    assert_eq!(on(Collet, "", &part("H8", "")).worst("exit-burr"), Verdict::Fits);
    let ring = part("H8", "groove ring internal dia 14 z 28 .. 32\nedges ring sharp .. 0.02")
        .replace("into guide", "into ring");
    assert!(told(&on(Collet, "", &ring)).contains("`port` breaks into `ring` after its last cut"));
}

#[test]
fn a_sharp_edge_wants_its_last_pass_after_the_groove() {
    let spool = "material 42crmo4\nlength 36 ±0.2\norder 1_000 repeat\npin front first\nturn land-1 dia 12 ±0.05 z 0 .. 16\n\
                 groove waist dia 9 z 16 .. 20\nturn land-2 dia 12 ±0.05 z 20 .. 36\n";
    let sharp = format!("{spool}edges land-1, land-2 sharp .. 0.02");
    // Beside a bushing the first land has left it when the groove is cut.
    let said = on(Guided, "", &sharp);
    let told: Vec<&str> = said.of("edges").iter().map(|f| f.reason.as_ref()).collect();
    assert!(matches!(told[..], [one] if one.contains("`waist`") && one.contains("`land-1`")), "{told:?}");
    assert!(on(Guided, "", spool).of("edges").is_empty());
    // Out of a collet the lands are finished after the groove.
    let said = on(Collet, "", &sharp);
    assert!(places(&said, Work::Groove).1 < places(&said, Work::FinishTurn).0, "{:?}", said.works);
    assert!(said.of("edges").is_empty(), "{:?}", said.of("edges"));
}

#[test]
fn the_edges_of_the_cut_off_side_are_not_broken_by_themselves() {
    let part = |lines: &str| pin(&format!("pin front first\nbore duct dia 4 through\n{lines}"));
    let broken = part("edges all break .. 0.1");
    let single =
        BASE.replace("machine example ", "machine other ").replace("machine example-single ", "machine example ");
    let said = judged_on(&single, Collet, "", &broken, "", "");
    let reason = &said.of("edges").first().expect("a warning").reason;
    assert!(reason.contains("the outer edge and the mouth of `duct`"), "{reason}");
    assert!(judged_on(&single, Collet, "", &part(""), "", "").of("edges").is_empty());
    // What is worked at the sub-spindle has its edges broken there.
    assert!(on(Collet, "", &broken).of("edges").is_empty());
}

#[test]
fn a_tube_is_finished_outside_before_its_wall_is_thin() {
    let part = "material 11smn30\nlength 40 ±0.2\norder 1_000 repeat\npin front first\nturn od dia 16 h9 z 0 .. 40 finish 1.6 um\n\
                bore id dia 14.6 H9 depth 30 from front flat-bottom";
    let said = on(Collet, "", part);
    assert!(places(&said, Work::FinishTurn).1 < places(&said, Work::Bore).0, "{:?}", said.works);
    assert!(said.of("thin-wall").iter().all(|f| !f.remedy.as_ref().unwrap().contains("before the bore")));
}

#[test]
fn a_hole_through_a_bore_is_drilled_before_the_bore_has_its_last_cut() {
    let part = |hole: &str| pin(&format!("bore fit dia 8 H7 through\nhole cross dia 2 at 20 angle 90 deg {hole}"));
    for hole in ["through", "into fit"] {
        let said = on(Collet, "", &part(hole));
        let works = &said.is_possible().works;
        let drilled = works.iter().position(|w| *w == Work::CrossDrill).unwrap();
        let finished = works.iter().rposition(|w| matches!(w, Work::Ream | Work::Bore)).unwrap();
        assert!(drilled < finished, "{hole}: {works:?}");
        assert_eq!(said.worst("exit-burr"), Verdict::Fits, "{hole}");
    }
}

#[test]
fn the_edges_of_milled_work_are_told_where_nothing_breaks_them() {
    let part = |lines: &str| pin(&format!("pin front first\nflat key from-axis 5 z 0 .. 8 count 2\n{lines}"));
    let told = |said: &Said| said.of("edges").iter().map(|f| f.reason.to_string()).collect::<Vec<_>>().join("; ");
    let said = on(Guided, "", &part("edges all break .. 0.1"));
    assert!(told(&said).contains("nothing follows `key` (mill flats"), "{}", told(&said));
    assert!(on(Guided, "", &part("")).of("edges").is_empty());
    // What is deburred afterwards is no care of the lathe.
    let after = on(Guided, "", &part("edges all break .. 0.1\nafter deburr"));
    assert!(!told(&after).contains("key"), "{}", told(&after));
    // Out of a collet the finish pass follows the cross hole and takes off its burr; the flats come after it.
    let hole = part("hole vent dia 3 at 20 angle 90 deg depth 3\nedges all break .. 0.1");
    assert!(!told(&on(Collet, "", &hole)).contains("vent"), "{}", told(&on(Collet, "", &hole)));
    assert!(told(&on(Guided, "", &hole)).contains("`vent` (cross-drill)"), "{}", told(&on(Guided, "", &hole)));
}

#[test]
fn a_tapped_hole_has_its_mouth_countersunk() {
    let part = |lines: &str| {
        pin(&format!(
            "pin front first\nbore core dia 5 depth 15 from front\nthread inner M6 x 1 6H internal depth 10 from front\n{lines}"
        ))
    };
    // The centre drill spots so deep that no further tool is needed: 6 mm and 0.3.
    let said = on(Collet, "", &part(""));
    let centre = said.operations.iter().find(|o| o.work == Work::Centre).expect("it is centred");
    assert!((centre.depth.to_mm() - 6.3).abs() < 1e-9 && said.tools[centre.tool].dia.to_mm() >= 6.3, "{centre:?}");
    assert!(!said.works.contains(&Work::Countersink), "{:?}", said.works);
    assert_eq!(said.worst("thread-method"), Verdict::Fits);
    // A deep hole is centred by its pilot: a countersink after it, before the tap.
    let deep = part("").replace("depth 15", "depth 50").replace("30 ±0.2", "70 ±0.2").replace("0 .. 30", "0 .. 70");
    let said = on(Collet, "", &deep);
    assert!(places(&said, Work::Countersink).0 < places(&said, Work::Tap).0, "{:?}", said.works);
    // Without a place for it the burr is told.
    let few = "carrier end { fixed 3 } carrier tilt { angle 90 deg }";
    let said = on(Collet, few, &deep);
    let told = said.of("thread-method").iter().map(|f| f.reason.to_string()).collect::<Vec<_>>().join("; ");
    assert!(!said.works.contains(&Work::Countersink) && told.contains("burr of the thread"), "{:?} {told}", said.works);
    // What the drawing chamfers is not countersunk besides.
    let drawn = on(Collet, "", &part("chamfer 0.8 x 45 deg at 0 inside"));
    let centre = drawn.operations.iter().find(|o| o.work == Work::Centre).expect("it is centred");
    assert!(centre.depth.to_mm() < 6.0);
}
