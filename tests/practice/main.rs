//! What practice laughs at and what it fears: each wrong refusal and each wrong pass that a setter would name, as a small
//! part on a small machine.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read files")]

mod accuracy;
mod burrs;
#[path = "../common/mod.rs"]
mod common;
mod holding;
mod room;
mod speed;
mod tools;

use turnwright::lang::{self, Sources};
use turnwright::matching::{By, Finding, Standing, Verdict, rank};
use turnwright::model::machine::ModeKind::{self, Collet, Guided, Supported};
use turnwright::model::machine::Side;
use turnwright::planning::Plan;
use turnwright::planning::cycle::{Doing, Slot};
use turnwright::planning::operation::{Operation, Tool, Work};

const BASE: &str = include_str!("../../src/matching/rules/examples/example.turn");

/// What the rules say about a part on one machine in one mode.
struct Said {
    standing: Standing,
    findings: Vec<Finding>,
    works: Vec<Work>,
    operations: Vec<Operation>,
    tools: Vec<Tool>,
    slots: Vec<Slot>,
    cycle_s: f64,
    /// The fastest turning at the main spindle, in rpm.
    fastest: f64,
}

impl Said {
    fn of(&self, rule: &str) -> Vec<&Finding> {
        self.findings.iter().filter(|f| f.rule == rule).collect()
    }
    /// The worst that a rule says; it fits where it says nothing.
    fn worst(&self, rule: &str) -> Verdict {
        self.of(rule).iter().map(|f| f.verdict).max().unwrap_or(Verdict::Fits)
    }
    #[track_caller]
    fn refused_by(&self, rule: &str) -> &Finding {
        assert_eq!(self.worst(rule), Verdict::Refused, "{rule}: {:#?}", self.findings);
        self.of(rule).into_iter().find(|f| f.verdict == Verdict::Refused).unwrap()
    }
    /// No rule refuses it.
    #[track_caller]
    fn is_possible(&self) -> &Said {
        let no: Vec<&str> =
            self.findings.iter().filter(|f| f.verdict == Verdict::Refused).map(|f| f.reason.as_ref()).collect();
        assert!(no.is_empty(), "refused: {no:#?}");
        self
    }
}

/// A part on the machine of the rules' examples with changes, with more lines for the shop file.
fn judged(mode: ModeKind, changes: &str, part: &str, own: &str, shop_lines: &str) -> Said {
    judged_on(BASE, mode, changes, part, own, shop_lines)
}

fn judged_on(base: &str, mode: ModeKind, changes: &str, part: &str, own: &str, shop_lines: &str) -> Said {
    let text = format!("units mm\nmachine one like example with {{ {changes} }}\npart pin {{\n{part}\n}}\n");
    let mut sources = Sources::default();
    sources.add("example.turn", base.to_owned());
    sources.add("inquiry.turn", text);
    let reading = lang::read(&sources);
    let errors = reading.diagnostics.iter().filter(|d| d.severity == lang::Severity::Error);
    let told: Vec<String> = errors.map(|d| lang::render::drawn(d, &sources, false)).collect();
    assert!(told.is_empty(), "{}", told.join("\n"));
    let shop = format!(
        "shop: Example\ncurrency: EUR\npeople: {{ setters: 2, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4 }}\n\
         markup: 22 % of cost\nscrap: 2 %\nsetup pieces: 4\n{shop_lines}\n\
         machines:\n  one: {{ hourly: 80 EUR/h, available: 3_400 h/year{own} }}\n"
    );
    let number = sources.add("shop.yaml", shop.clone());
    let (shop, found) = lang::shop::read_shop_with(number, &shop, &reading.machines);
    assert!(found.is_empty(), "{found:#?}");
    let ranking = rank(&reading.parts[0], &reading.machines, &shop.unwrap(), None, By::Cost);
    assert!(ranking.failed.is_empty(), "{:?}", ranking.failed);
    let row = ranking.rows.into_iter().find(|r| reading.machines[r.machine].name == "one" && r.mode == mode).unwrap();
    Said {
        standing: row.standing,
        works: row.judged.plan.operations.iter().map(|o| o.work).collect(),
        operations: row.judged.plan.operations.clone(),
        tools: row.judged.plan.tools.clone(),
        slots: row.judged.plan.cycle.slots.clone(),
        cycle_s: row.judged.plan.cycle.total.to_s(),
        fastest: turned(&row.judged.plan),
        findings: row.judged.findings,
    }
}

/// The fastest work at the main spindle against a standing tool, in rpm.
fn turned(plan: &Plan) -> f64 {
    let standing = plan.operations.iter().filter(|o| o.side == Side::Main && !plan.tools[o.tool].live);
    standing.map(|o| o.speed.to_rpm()).fold(0.0, f64::max)
}

fn on(mode: ModeKind, changes: &str, part: &str) -> Said {
    judged(mode, changes, part, "", "")
}

/// A pin of free-cutting steel with more lines.
fn pin(lines: &str) -> String {
    format!("material 11smn30\nlength 30 ±0.2\norder 1_000 repeat\nturn body dia 12 ±0.1 z 0 .. 30\n{lines}")
}

// ------------------------------------------------------------------------------------------------------ wrong refusals

#[test]
fn a_slow_live_spindle_is_time_and_tool_life_and_no_refusal() {
    // 0.8 mm in steel wants over 40,000 rpm; shops run it at 6,000, and at 1,000 where they must.
    for speed in ["6_000", "1_000"] {
        let slow = format!("carrier cross {{ speed .. {speed} rpm }} carrier tilt {{ speed .. {speed} rpm }}");
        let said = on(Guided, &slow, &pin("hole jet dia 0.8 at 15 angle 90 deg depth 2"));
        assert_eq!(said.is_possible().worst("live-speed"), Verdict::Warns, "{speed}");
    }
}

#[test]
fn a_form_of_thread_is_no_reason_while_any_method_makes_it() {
    let shallow = "thread form profile major 12 core 10.4 pitch 2 flanks 30 deg z 10 .. 25";
    let said = on(Guided, "", &pin(shallow));
    assert!(said.is_possible().works.contains(&Work::SinglePoint));
    // Deep, it needs a head: then the depth decides and not the form, in tough material sooner.
    let deep = |core: &str| pin(&shallow.replace("core 10.4", core));
    let tough = |core: &str| deep(core).replace("11smn30", "316l");
    assert_ne!(on(Guided, "", &deep("core 8")).worst("thread-method"), Verdict::Refused);
    on(Guided, "", &deep("core 7.99")).refused_by("thread-method");
    assert_ne!(on(Guided, "", &tough("core 9.4")).worst("thread-method"), Verdict::Refused);
    on(Guided, "", &tough("core 9.39")).refused_by("thread-method");
    // A slender piece out of the collet springs from a cut of half that depth.
    let long = deep("core 9").replace("30 ±0.2", "60 ±0.2").replace("0 .. 30", "0 .. 60");
    assert_ne!(on(Guided, "", &long).worst("thread-method"), Verdict::Refused);
    on(Collet, "", &long).refused_by("thread-method");
}

#[test]
fn drawn_bar_of_h9_goes_through_a_bushing_that_adjusts_itself() {
    let part = pin("stock round 13 h9 drawn");
    let said = on(Guided, "mode guided { bushing self-adjusting stock h8 }", &part);
    assert_eq!(said.is_possible().worst("stock-grade"), Verdict::Warns);
    on(Guided, "mode guided { bushing rotary stock h8 }", &part).refused_by("stock-grade");
}

#[test]
fn a_surface_left_as_bought_needs_no_larger_bar() {
    let part = "material 11smn30\nlength 30 ±0.2\norder 1_000 repeat\nstock round 32 h8 ground\n\
                turn body as-stock dia 32 h8 z 0 .. 20\nturn stem dia 20 ±0.1 z 20 .. 30";
    let said = on(Guided, "", part);
    assert_ne!(said.worst("bar-range"), Verdict::Refused, "{:#?}", said.of("bar-range"));
    assert_eq!(said.worst("bar-channel").min(Verdict::Warns), said.worst("bar-channel"));
}

#[test]
fn a_short_stepped_part_is_not_slender_for_its_thin_tip() {
    // 24 mm over a tip of 3 mm would read as 8 D; the tip itself stands out 2 D from a stout body.
    let part = "material 11smn30\nlength 24 ±0.2\norder 1_000 repeat\npin front first\n\
                turn tip dia 3 ±0.1 z 0 .. 6\nturn body dia 20 ±0.1 z 6 .. 24";
    let said = on(Collet, "", part);
    assert_eq!(said.is_possible().worst("slenderness"), Verdict::Fits, "{:#?}", said.of("slenderness"));
    // The neck behind a head does count.
    let neck = part.replace("dia 3 ±0.1", "dia 20.5 ±0.1").replace("dia 20 ±0.1", "dia 5 ±0.1");
    assert_eq!(on(Collet, "", &neck).worst("slenderness"), Verdict::Warns);
}

#[test]
fn brass_asks_for_no_pressure() {
    let duct = "bore duct dia 2 depth 24 from front";
    let brass = pin(duct).replace("11smn30", "cuzn39pb3");
    on(Guided, "coolant oil 5 bar", &brass).is_possible();
    let steel = pin(duct).replace("11smn30", "42crmo4");
    on(Guided, "coolant oil 5 bar", &steel).refused_by("deep-hole");
}

#[test]
fn a_head_set_by_hand_takes_any_angle() {
    let head = "carrier tilt { angle 90 deg } option head { angle 0 .. 90 deg by hand accuracy 0.1 deg speed .. 8_000 rpm \
                collet .. 7 occupies cross 1 live mount 40 min }";
    let part = pin("hole jet dia 3 at 8 angle 62.3 deg ±0.5 deg opens front depth 3")
        .replace("order", "pin front first\norder");
    let said = judged(Guided, head, &part, ", owned: { head: 1 }", "");
    assert_eq!(said.is_possible().standing, Standing::Owned);
    assert_eq!(said.worst("angle"), Verdict::Fits);
}

#[test]
fn one_tool_in_one_place_serves_all_features_that_it_can() {
    let part = "material 11smn30\nlength 40 ±0.2\norder 1_000 repeat\npin front first\n\
                turn a dia 6 ±0.1 z 0 .. 8\nturn b dia 8 ±0.1 z 8 .. 16\nturn c dia 10 ±0.1 z 16 .. 24\n\
                turn d dia 12 ±0.1 z 24 .. 32\nturn e dia 14 ±0.1 z 32 .. 40\nchamfer 0.5 x 45 deg at 0 outside";
    // A finishing and a cut-off tool: five diameters and a chamfer ask for no third place.
    let said = on(Guided, "carrier gang { fixed 2 }", part);
    assert_eq!(said.is_possible().tools.len(), 2);
}

#[test]
fn roundness_of_half_the_tolerance_is_no_demand_of_its_own() {
    let part = pin("roundness body 0.01").replace("±0.1 z", "±0.01 z");
    assert_eq!(on(Guided, "", &part).is_possible().worst("roundness"), Verdict::Fits);
}

#[test]
fn spindle_power_does_not_bind_on_small_parts() {
    let part = pin("").replace("dia 12", "dia 6");
    let said = on(Guided, "spindle main { power 1 kW torque 4 N.m }", &part);
    assert_eq!(said.is_possible().worst("spindle-torque"), Verdict::Fits);
}

#[test]
fn what_the_drawer_holds_is_not_asked_where_nobody_lists_it() {
    assert_eq!(judged(Guided, "", &pin(""), "", "").is_possible().worst("collets"), Verdict::Fits);
    // What holds the bar now lies there, listed or not.
    let now = ", collets: { main: [], bushing: [] }, now: [{ mode: guided, bar: 13 mm }]";
    assert_eq!(judged(Guided, "", &pin(""), now, "").worst("collets"), Verdict::Fits);
}

#[test]
fn a_surface_that_is_groundwards_is_turned_to_a_turning_tolerance() {
    // 9 um and a roundness of 2 um are the grinder's to hold.
    let ground =
        pin("roundness body 0.002\nafter heat-treat\nafter grind body leaving 0.3").replace("12 ±0.1", "12 m6");
    let coarse = "mode guided { spread 30 um roundness 3 um }";
    let said = on(Guided, coarse, &ground);
    let held = said.is_possible().of("capability")[0];
    assert!(held.reason.contains("`body`, turned to 12.3 mm and ground afterwards"), "{}", held.reason);
    // IT 10 of 12.3 mm is 70 um.
    assert!((held.offered.value().unwrap() - 70.0 / (30.0_f64.powi(2) + 2.7_f64.powi(2)).sqrt()).abs() < 0.02);
    assert!(said.of("roundness")[0].reason.contains("it is the grinding that makes it"));
    assert_eq!(said.worst("hardening"), Verdict::Fits);
    // An eccentric stays what the cross slide makes of it, whatever is ground beside it.
    let cam = "\nlength 30 ±0.2\norder 1_000 repeat\nturn cam dia 12 h9 offset 1 z 0 .. 10\nturn stem dia 9 h6 z 10 .. 30\n\
               position cam to stem 0.04\nafter grind stem leaving 0.3";
    let said = on(Guided, "", &format!("material 16mncr5{cam}"));
    assert_eq!(said.worst("runout"), Verdict::Warns);
    // Without the grinding the lathe holds it, and hardening spoils it.
    let bare = ground.replace("\nafter grind body leaving 0.3", "");
    let said = on(Guided, coarse, &bare);
    said.refused_by("capability");
    said.refused_by("roundness");
    assert_eq!(said.worst("hardening"), Verdict::Warns);
    // What is ground before it is hardened is not ground after; what holds its size before hardening is left alone.
    let before = bare.replace("after heat-treat", "after grind body leaving 0.3\nafter heat-treat");
    assert_eq!(on(Guided, "", &before).worst("hardening"), Verdict::Warns);
    let sizes = bare.replace("after heat-treat", "after heat-treat sizes before");
    assert_eq!(on(Guided, "", &sizes).worst("hardening"), Verdict::Fits);
}

// -------------------------------------------------------------------------------------------------------- wrong passes

#[test]
fn a_frozen_process_stays_where_it_was_validated() {
    let implant = |line: &str| on(Guided, "", &pin(&format!("use implant\n{line}")));
    assert_eq!(implant("").worst("validated"), Verdict::Fits);
    assert_eq!(implant("validated on one").is_possible().worst("validated"), Verdict::Fits);
    let elsewhere = implant("validated on example");
    assert!(elsewhere.refused_by("validated").reason.contains("implant"));
    // Another way of holding is another process.
    implant("validated on one mode collet").refused_by("validated");
    let moved = implant("validated on example moving 12_000 EUR takes 16 weeks");
    assert_eq!(moved.is_possible().worst("validated"), Verdict::Warns);
    assert!(moved.of("validated")[0].reason.contains("12,000 EUR and takes 16 weeks"));
}

#[test]
fn a_range_of_grip_is_no_drawer_of_collets() {
    let said = |list: &str| judged(Guided, "", &pin(""), &format!(", collets: {{ {list} }}"), "");
    let of = |said: &Said| said.of("collets").iter().map(|f| f.reason.to_string()).collect::<Vec<_>>().join("; ");
    assert_eq!(said("main: [13 mm], sub: [12 mm], bushing: [13 mm]").worst("collets"), Verdict::Fits);
    let none = said("main: [10 mm, 16 mm], sub: [8 mm], bushing: []");
    assert_eq!(none.is_possible().of("collets").len(), 3, "{}", of(&none));
    let sub = said("sub: [8 mm, 11.8 mm]");
    assert_eq!(sub.worst("collets"), Verdict::Warns);
    assert!(of(&sub).contains("sub-spindle collet for 12 mm in the shop's list, the nearest at hand is 11.8 mm"));
    // A bar for which all is at hand is the first thing to think of.
    let larger = said("main: [16 mm], bushing: [14 .. 18 mm]");
    let told = larger.of("collets")[0].remedy.clone().unwrap();
    assert!(told.contains("or bar of 16 mm"), "{told}");
}

#[test]
fn a_leaning_holder_does_not_pass_through_the_nose() {
    let part = "material 11smn30\npin front first\nlength 60 ±0.2\norder 1_000 repeat\nturn body dia 28 ±0.1 z 0 .. 60\n\
                hole jet dia 3 ±0.1 at 50 angle 75 deg ±1 deg opens back depth 5";
    let said = on(Collet, "", part);
    assert!(said.refused_by("nose-clearance").offered.value().unwrap() < 1.0);
}

#[test]
fn a_part_without_a_plain_stretch_is_not_gripped() {
    let part = "material 11smn30\npin front first\nlength 30 ±0.02\norder 1_000 repeat\nturn rim dia 12 ±0.1 z 0 .. 1.5\n\
                taper cone dia 12 .. 8 z 1.5 .. 30";
    on(Guided, "", part).refused_by("hand-over");
}

#[test]
fn a_drill_does_not_push_the_part_through_its_collet() {
    let part = pin("bore hole dia 6 depth 10 from front").replace("order", "pin front first\norder");
    let said = on(Guided, "mode guided { clamp 1 kN }", &part);
    // Behind a bar that moves through its spindle no stop can stand.
    assert!(!said.refused_by("axial-push").remedy.as_ref().unwrap().contains("stop"));
}

#[test]
fn an_eccentric_is_no_grip_and_not_true_to_the_spindle() {
    let part = "material 16mncr5\npin front first\nlength 40 ±0.2\norder 1_000 repeat\nturn cam dia 12 h9 offset 1.5 z 0 .. 15\n\
                taper stem dia 8 .. 6 z 15 .. 40\nbore tail dia 2.5 depth 8 from back\nposition cam to stem 0.04";
    let said = on(Guided, "", part);
    assert!(said.refused_by("hand-over").reason.contains("about the axis"), "{:#?}", said.of("hand-over"));
    let position = said.of("runout")[0];
    assert_eq!(position.verdict, Verdict::Warns, "{}", position.reason);
    assert!(position.reason.contains("in step with the spindle"), "{}", position.reason);
    // A plain stem is gripped, and the collet passes over what the cam swings.
    let stem = on(Guided, "", &part.replace("taper stem dia 8 .. 6", "turn stem dia 6 h7"));
    assert!(stem.of("hand-over")[0].reason.contains("grips `stem` 6 mm"), "{:#?}", stem.of("hand-over"));
    assert!(stem.of("hand-over")[0].reason.contains("reached over 15 mm"), "{:#?}", stem.of("hand-over"));
    let true_ = on(Guided, "", &part.replace("offset 1.5 ", "").replace("cam to stem", "tail to cam"));
    assert!(true_.of("runout")[0].reason.contains("across the hand-over"), "{:#?}", true_.of("runout"));
}

#[test]
fn a_round_collet_does_not_hold_a_hexagon_by_six_narrow_arcs() {
    // Across 18 on 20 mm leaves a seventh of the circumference.
    let part = "material 11smn30\npin front first\nlength 30 ±0.2\norder 1_000 repeat\nturn rim dia 20 ±0.1 z 0 .. 8\n\
                taper cone dia 20 .. 8 z 8 .. 30\nhex flats across 18 z 0 .. 8 corners cut";
    let said = on(Collet, "", part);
    let grip = said.of("hand-over")[0];
    assert_eq!(grip.verdict, Verdict::Warns);
    assert!(grip.reason.contains("grips `flats` hexagon 18 mm on 8 mm"), "{}", grip.reason);
    // What the flats leave of a longer rim is gripped as it is, and one flat takes only what it takes.
    let longer = part.replace("z 0 .. 8 corners", "z 0 .. 3 corners");
    let said = on(Collet, "", &longer);
    assert!(said.of("hand-over")[0].reason.contains("grips `rim` 20 mm on 5 mm"), "{:#?}", said.of("hand-over"));
    let flat = part.replace("hex flats across 18 z 0 .. 8 corners cut", "flat f from-axis 9 z 0 .. 8");
    let left = 8.0 * (1.0 - (0.9_f64).acos() / std::f64::consts::PI);
    let said = on(Collet, "", &flat);
    assert!((said.of("hand-over")[0].offered.value().unwrap() - left).abs() < 1e-9, "{:#?}", said.of("hand-over"));
}

#[test]
fn a_collet_spans_grooves_and_keyways() {
    let part = "material ti-6al-4v-eli\npin front first\nlength 15 ±0.1\norder 500 repeat\nturn head dia 2.2 h9 z 0 .. 4\n\
                groove one dia 1.7 z 1 .. 1.4\ngroove two dia 1.7 z 2.2 .. 2.6\ntaper shank dia 1.5 .. 0.9 z 4 .. 15\n\
                hole eye dia 0.3 at 12 angle 90 deg through";
    let said = on(Collet, "", part);
    assert!((said.of("hand-over")[0].offered.value().unwrap() - 3.2).abs() < 1e-9, "{:#?}", said.of("hand-over"));
    assert_ne!(said.worst("hand-over"), Verdict::Refused);
    // A keyway takes its width of the circumference.
    let keyed = on(Collet, "", &pin("keyway key width 3 P9 depth 1.8 z 8 .. 18"));
    let left = 30.0 - 10.0 * 3.0 / (12.0 * std::f64::consts::PI);
    assert!((keyed.of("hand-over")[0].offered.value().unwrap() - left).abs() < 1e-9, "{:#?}", keyed.of("hand-over"));
}

#[test]
fn a_stop_behind_the_part_takes_the_push_at_the_sub_spindle() {
    let part = pin("bore hole dia 6 depth 10 from back").replace("order", "pin front first\norder");
    let said = on(Guided, "spindle sub { clamp 1 kN }", &part);
    assert_eq!(said.is_possible().worst("axial-push"), Verdict::Fits);
    // What is longer than the ejector's travel has no stop behind it.
    let said = on(Guided, "spindle sub { clamp 1 kN eject .. 20 }", &part);
    assert!(said.refused_by("axial-push").remedy.as_ref().unwrap().contains("a stop behind the part"));
}

#[test]
fn a_thin_pin_and_a_part_that_is_only_taken_off_ask_for_little_grip() {
    let asked = |said: &Said| said.of("hand-over")[0].asked.value().unwrap();
    let machine = "spindle sub { grip 0.5 .. 32 } mode collet { bar 1 .. 32 }";
    let thin = "material 11smn30\nlength 6 ±0.1\norder 1_000 repeat\nturn body dia 0.9 ±0.05 z 0 .. 6\nedges all break .. 0.05";
    assert!((asked(&on(Collet, machine, thin)) - 2.7).abs() < 1e-9);
    let stepped = "material 11smn30\npin front first\nlength 40 ±0.2\norder 1_000 repeat\nturn head dia 15 ±0.1 z 0 .. 6\n\
                   taper stem dia 8 .. 7 z 6 .. 40";
    let idle = on(Guided, "", stepped);
    assert!((asked(&idle) - 0.3 * 15.0).abs() < 1e-9);
    assert_eq!(idle.worst("hand-over"), Verdict::Fits);
    let worked = on(Guided, "", &format!("{stepped}\nbore tail dia 3 depth 5 from back"));
    assert!((asked(&worked) - 34.0 / 3.0).abs() < 1e-9);
    assert_eq!(worked.worst("hand-over"), Verdict::Warns);
}

#[test]
fn a_collet_too_large_for_its_spindle_is_no_purchase() {
    let part = "material cuzn39pb3\nlength 20 ±0.2\norder 1_000 repeat\nstock hex 24 h11 drawn\n\
                hex body across 24 z 0 .. 20 as-stock\nbore duct dia 8 through";
    let said = on(Collet, "spindle sub { grip 2 .. 20 }", part);
    let refused = said.refused_by("hand-over");
    assert!(refused.reason.contains("hexagon 24 mm, 27.71 mm over its corners"), "{}", refused.reason);
    assert!(!refused.remedy.as_ref().unwrap().contains("collet"), "{:?}", refused.remedy);
    // A smaller one is.
    let thin = "material 11smn30\nlength 20 ±0.2\norder 1_000 repeat\nturn body dia 3 ±0.1 z 0 .. 20";
    let said = on(Collet, "spindle sub { grip 4 .. 32 }", thin);
    assert_eq!(said.refused_by("hand-over").remedy.as_deref(), Some("a sub-spindle collet for 3 mm"));
}

#[test]
fn a_hole_off_the_axis_needs_y() {
    let part = pin("hole side dia 3 at 15 angle 90 deg offset 3 depth 2");
    let said = on(Guided, "carrier cross { y -1 .. 1 } carrier tilt { y -1 .. 1 }", &part);
    assert_eq!(said.refused_by("off-axis").offered.value(), Some(1.0));
}

#[test]
fn a_bar_rattles_in_a_channel_far_too_large() {
    let thin = pin("").replace("dia 12", "dia 4");
    let said = on(Guided, "feeder { channel 33 }", &thin);
    assert_eq!(said.refused_by("bar-channel").offered.value(), Some(28.5));
    on(Guided, "feeder { channel 8, 10 }", &pin("")).refused_by("bar-channel");
}

#[test]
fn a_bushing_copies_the_bar_that_it_is_fed() {
    // h11 bar may be out of round by 65 um: three tenths of it come back on the part.
    let part = pin("stock round 13 h11 drawn\nroundness body 0.01");
    let said = on(Guided, "mode guided { stock h11 }", &part);
    assert!(said.refused_by("roundness").reason.contains("h11 bar adds"));
    on(Collet, "", &part).is_possible();
}

#[test]
fn a_whirling_ring_does_not_enter_a_pocket_that_is_too_small() {
    let part = "material 316l\nlength 30 ±0.2\norder 20 repeat\nturn head dia 8 ±0.1 z 0 .. 8\nturn neck dia 3 ±0.1 z 8 .. 14\n\
                thread bone form profile major 6 core 3.2 pitch 2 flanks 30 deg z 14 .. 30";
    let machine = |dia: &str| {
        format!(
            "magazine {{ feeds tilt pockets 12 change 4 s tool .. {dia} dia, .. 120 long, .. 2 kg }} \
             option whirling {{ method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 14 \
             ring-speed .. 4_000 rpm cutters 6 occupies tilt pocket mount 30 min }}"
        )
    };
    let own = ", owned: { whirling: 1 }";
    // 14 mm of bore and 22 mm of ring to either side are 58 mm.
    judged(Guided, &machine("58"), part, own, "").is_possible();
    let said = judged(Guided, &machine("57.9"), part, own, "");
    assert_eq!(said.refused_by("tool-storage").asked.value(), Some(58.0));
}

#[test]
fn a_thread_needs_room_to_run_out() {
    let part = "material 316l\nlength 30 ±0.2\norder 20 repeat\nturn head dia 8 ±0.1 z 0 .. 12\nturn neck dia 3 ±0.1 z 12 .. 14\n\
                thread bone form profile major 6 core 3.2 pitch 2 flanks 30 deg starts 2 z 14 .. 30";
    // The insert is as wide as both starts; it is backed off in the neck, and the ring passes over the blank.
    let short = part.replace("12\n", "12.1\n").replace("z 12 ..", "z 12.1 ..");
    let head = "option whirling { method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 14 \
                ring-speed .. 4_000 rpm cutters 6 occupies cross 2 neighbouring live mount 30 min }";
    assert!(judged(Guided, head, part, ", owned: { whirling: 1 }", "").is_possible().works.contains(&Work::Whirl));
    judged(Guided, head, &short, ", owned: { whirling: 1 }", "").refused_by("run-out");
}

#[test]
fn a_web_between_two_holes_is_seen() {
    let holes = |second: &str| {
        pin(&format!(
            "hole a dia 3 at 10 angle 90 deg depth 3 clock 0 deg\nhole b dia 3 at {second} angle 90 deg depth 3 clock 0 deg"
        ))
    };
    let said = on(Guided, "", &holes("13.2"));
    assert!((said.of("ligament")[0].offered.value().unwrap() - 0.2).abs() < 1e-9);
    assert_eq!(on(Guided, "", &holes("13.3")).worst("ligament"), Verdict::Fits);
    // On the other side of the part they do not meet.
    let apart = holes("13.2").replacen("clock 0 deg", "clock 180 deg", 1);
    assert_eq!(on(Guided, "", &apart).worst("ligament"), Verdict::Fits);
}

#[test]
fn a_thread_blank_is_held_to_its_class() {
    let part = pin("thread mount M12 x 1.75 6g z 10 .. 30");
    // 12 ±0.1 may be turned to 12.1; the class ends at 11.966.
    let said = on(Guided, "", &part);
    assert_eq!(said.worst("thread-blank"), Verdict::Warns);
    assert!((said.of("thread-blank")[0].asked.value().unwrap() - 11.966).abs() < 6e-4);
}

#[test]
fn tools_that_look_at_the_sub_spindle_make_nothing_at_the_bar() {
    let part = pin("bore hole dia 6 depth 10 from front").replace("order", "pin front first\norder");
    on(Guided, "", &part).is_possible();
    let said = on(Guided, "carrier end { serves sub angle 180 deg } carrier tilt { angle 60 .. 110 deg }", &part);
    let refused = said.findings.iter().any(|f| f.verdict == Verdict::Refused && f.reason.contains("main spindle"));
    assert!(refused, "{:#?}", said.findings);
}

#[test]
fn an_attachment_that_nobody_owns_is_no_capability() {
    let head = "option whirling { method whirling lead-angle -30 .. 30 deg insert-width .. 6 ring-bore 16 \
                ring-speed .. 4_000 rpm cutters 6 occupies cross 2 neighbouring live mount 30 min price 12_000 EUR }";
    let part = pin("thread form profile major 12 core 7.9 pitch 2 flanks 30 deg z 10 .. 25");
    assert_eq!(judged(Guided, head, &part, "", "").standing, Standing::WithPurchase);
    assert_eq!(judged(Guided, head, &part, ", owned: { whirling: 1 }", "").standing, Standing::Owned);
}

#[test]
fn one_motor_drives_one_tool_at_a_time() {
    let demo = common::Demo::whole();
    for part in &demo.parts {
        for row in &rank(part, &demo.machines, &demo.shop, None, By::Cost).rows {
            let plan = &row.judged.plan;
            let mut live: Vec<_> = plan
                .cycle
                .slots
                .iter()
                .filter_map(|s| match s.doing {
                    Doing::Operation(i) if plan.tools[plan.operations[i].tool].live => {
                        Some((s.carrier?, s.start, s.end()))
                    }
                    _ => None,
                })
                .collect();
            live.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
            for pair in live.windows(2) {
                let apart = pair[0].0 != pair[1].0 || pair[1].1.to_s() >= pair[0].2.to_s() - 1e-9;
                assert!(apart, "{} on {}: {pair:?}", part.name, demo.machines[row.machine].name);
            }
        }
    }
}

#[test]
fn a_step_is_not_an_accuracy() {
    let part = pin("hole lock dia 3 at 15 angle 90 deg depth 3\nposition lock to body 0.05");
    let said = |orient: &str| on(Guided, &format!("spindle main {{ orient {orient} }}"), &part).worst("orientation");
    // 6 mm off the axis, 0.2 deg either way are 42 um.
    assert_eq!(said("every 15 deg accuracy 0.2 deg"), Verdict::Fits);
    assert_eq!(said("every 15 deg accuracy 0.24 deg"), Verdict::Refused);
    let silent = BASE.replace("orient continuous  accuracy 0.02 deg", "orient every 15 deg");
    assert_ne!(silent, BASE);
    assert_eq!(judged_on(&silent, Guided, "", &part, "", "").worst("orientation"), Verdict::NotStated);
    // A head with a step of half a degree does not hit an angle between two steps.
    let stepped = "carrier tilt { angle 0 .. 110 deg step 0.5 deg accuracy 0.01 deg }";
    let hole = pin("hole jet dia 3 at 8 angle 62.25 deg ±0.1 deg opens front depth 3")
        .replace("order", "pin front first\norder");
    on(Guided, stepped, &hole).refused_by("angle");
}

#[test]
fn five_axes_in_turn_are_not_five_axes_at_once() {
    let part = pin("contour saddle area 40 mm2 scallop 10 um axes 5 z 4 .. 10 depth 0.5");
    on(Guided, "", &part).refused_by("contouring");
    assert_ne!(on(Guided, "carrier tilt { contouring }", &part).worst("contouring"), Verdict::Refused);
}

// --------------------------------------------------------------------------------------------------- the shop's own say

#[test]
fn the_shop_may_move_every_limit() {
    let slope =
        pin("hole jet dia 3 at 8 angle 50 deg ±1 deg opens front depth 3").replace("order", "pin front first\norder");
    assert_eq!(on(Guided, "", &slope).worst("drill-slope"), Verdict::Warns);
    let own = judged(Guided, "", &slope, "", "thresholds: { milled-start: 45 deg }");
    assert_eq!(own.worst("drill-slope"), Verdict::Fits);
}

#[test]
fn the_plan_keeps_the_shops_own_limits_of_a_loose_bar() {
    let thin = pin("").replace("dia 12", "dia 4");
    let fastest = |thresholds: &str| {
        let machine = "feeder { channel 7.5 } spindle main { speed .. 20_000 rpm } mode guided { speed .. 20_000 rpm }";
        judged(Guided, machine, &thin, "", thresholds).fastest
    };
    let (usual, free) = (fastest(""), fastest("thresholds: { bar-gap-full: 4 mm }"));
    assert!((usual - 0.6 * free).abs() < 1.0, "{usual} against {free}");
    let braver = fastest("thresholds: { bar-gap-share: 0.8 }");
    assert!((braver - 0.8 * free).abs() < 1.0, "{braver} against {free}");
    // No bar is run faster for the air around it, and a share of nothing stops no spindle.
    for share in ["0", "3"] {
        assert_eq!(fastest(&format!("thresholds: {{ bar-gap-share: {share} }}")), free);
    }
}
