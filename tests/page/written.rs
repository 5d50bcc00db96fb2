//! The page as a file: it stands alone, shows what the answer says, and tells a customer only what is his.

use crate::common::Demo;
use crate::{Folder, LOOKED_AT, answered, page, turnwright};
use roxmltree::Document;
use std::path::PathBuf;
use turnwright::cli::Exit;

#[test]
fn words_of_the_spec_cannot_become_markup() {
    let spec = "units mm\npart p \"a <script>alert(1)</script> & b\" {\n  material c45\n  length 10 ±0.1\n  order 10\n  \
                turn a dia 8 z 0 .. 10\n  engrave \"<b>&\" height 1 depth 0.1 at 5\n}\n";
    let folder = Folder::new("escape");
    let (file, page) = (folder.path("p.turn"), folder.path("p.html"));
    std::fs::write(&file, spec).unwrap();
    let (exit, told) = turnwright(&["rank", file.to_str().unwrap(), "--html", page.to_str().unwrap()]);
    assert_eq!(exit, Exit::Fine, "{told}");
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(!html.contains("<script") && !html.contains("<b>"));
    assert!(html.contains("&lt;script&gt;"));
}

#[test]
fn a_page_asks_for_nothing() {
    let folder = Folder::new("alone");
    for command in [
        vec!["rank", "parts"],
        vec!["quote", "parts"],
        vec!["quote", "parts", "--reader", "customer"],
        vec!["plan", "parts", "--machine", "tilt-32", "--alternatives", "--compare"],
    ] {
        asks_for_nothing(&page(&folder, &command));
    }
}

fn asks_for_nothing(html: &str) {
    for asking in ["src=", "@import", "<script", "<iframe", "<object", "http-equiv"] {
        assert!(!html.contains(asking), "{asking}");
    }
    for place in html.match_indices("href=").map(|(i, _)| &html[i + 6..i + 12]) {
        assert!(place.starts_with('#') || place.starts_with("data:,"), "{place}");
    }
    for place in html.match_indices("url(").map(|(i, _)| &html[i + 4..i + 5]) {
        assert_eq!(place, "#");
    }
    for place in html.match_indices("http").map(|(i, _)| &html[i..i + 26]) {
        assert_eq!(place, "http://www.w3.org/2000/svg");
    }
    // A name that is used twice in the page would lead to the wrong drawing.
    let mut ids: Vec<&str> = html
        .match_indices(" id=\"")
        .map(|(i, m)| {
            let rest = &html[i + m.len()..];
            &rest[..rest.find('"').unwrap()]
        })
        .collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "an id stands twice");
}

#[test]
fn where_a_page_cannot_be_written_that_is_said() {
    let folder = Folder::new("errors");
    let part = folder.path("p.turn");
    std::fs::copy("parts/valve-spool.turn", &part).unwrap();
    let part = part.to_str().unwrap();
    for (place, words) in [
        (folder.path(""), "is a folder"),
        (folder.path("none/answer.html"), "cannot be written"),
        (PathBuf::from(part), "was read for this answer"),
    ] {
        let on = ["--machine", "gang-20"];
        for command in [
            vec!["rank", part],
            vec!["quote", part],
            vec!["mode", part, on[0], on[1]],
            vec!["plan", part, on[0], on[1]],
        ] {
            let mut args = command.clone();
            args.extend(["--html", place.to_str().unwrap()]);
            let (exit, told) = turnwright(&args);
            assert_eq!(exit, Exit::Unable, "{args:?}: {told}");
            assert!(told.contains(words), "{told}");
        }
    }
    assert_eq!(std::fs::read_to_string(part).unwrap(), std::fs::read_to_string("parts/valve-spool.turn").unwrap());
    let left: Vec<_> = std::fs::read_dir(&folder.0).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left, ["p.turn"], "a file was left behind");
}

/// What a reader of a page sees: the page without its style.
fn body(html: &str) -> &str {
    &html[html.find("</style>").unwrap()..]
}

/// Words of a page apart from markup, in the order of reading.
fn read(html: &str) -> Vec<String> {
    let text: String =
        body(html).split('<').map(|piece| format!(" {}", piece.split_once('>').map_or("", |p| p.1))).collect();
    text.split_whitespace().map(str::to_owned).collect()
}

/// Amounts of a quote that are nobody's but the shop's.
fn secrets(command: &[&str]) -> Vec<String> {
    let mut args = command.to_vec();
    args.extend(["--format", "json"]);
    let (_, out, told) = answered(&args);
    let quote: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {told}"));
    let (mut found, mut prices) = (Vec::new(), Vec::new());
    for offer in quote[0]["offers"].as_array().unwrap() {
        for route in offer["breaks"].as_array().unwrap().iter().map(|b| &b["routes"][0]) {
            prices.extend([&route["price"], &route["total"]].map(|p| format!("{:.2}", p.as_f64().unwrap())));
            for share in route["shares"].as_array().unwrap() {
                let amount = share["order"].as_f64().unwrap();
                if ["machine", "markup", "setting"].contains(&share["share"].as_str().unwrap()) && amount > 50.0 {
                    found.push(format!("{amount:.2}"));
                }
            }
        }
    }
    // What happens to be some part's price as well gives nothing away.
    found.retain(|amount| !prices.contains(amount));
    found
}

/// Words that give away how a part is made or what it costs the shop.
const OWN: &[&str] =
    &["markup", "setup", "cycle", "machine", "machines", "collet", "guided", "operator", "route", "scrap", "hourly"];

#[test]
fn a_customer_reads_nothing_of_the_shops_own() {
    let folder = Folder::new("customer");
    let demo = Demo::whole();
    let refusing = ["quote", "parts/valve-spool.turn", "--machine", "fixed-65"];
    for command in [&["quote", "parts", "--quantity", "500"][..], &refusing] {
        let mut to_customer = command.to_vec();
        to_customer.extend(["--reader", "customer"]);
        let (shop, customer) = (page(&folder, command), page(&folder, &to_customer));
        let said = |html: &str, word: &str| {
            read(html).iter().any(|w| w.trim_matches(|c: char| !c.is_alphanumeric()).eq_ignore_ascii_case(word))
        };
        let told: Vec<&str> = OWN.iter().copied().filter(|w| said(&customer, w)).collect();
        assert!(told.is_empty(), "{command:?}: a customer reads {told:?}");
        for name in demo.machines.iter().map(|m| m.name.as_str()).chain(["guide bushing"]) {
            assert!(!body(&customer).contains(name), "{command:?}: a customer reads of {name}");
        }
        let plain = |html: &str| read(html).iter().map(|w| w.replace(',', "")).collect::<Vec<_>>();
        let (shop_words, customer_words) = (plain(&shop), plain(&customer));
        let mut amounts = secrets(command);
        amounts.retain(|a| shop_words.contains(a));
        assert!(command.len() == 4 && command[2] == "--machine" || amounts.len() > 20, "{}", amounts.len());
        for amount in amounts {
            assert!(!customer_words.contains(&amount), "{command:?}: a customer reads {amount}");
        }
        // The same words stand where they belong, so that this test looks for what there is.
        assert!(body(&shop).contains("For the shop alone") && !body(&customer).contains("alone"), "{command:?}");
        assert!(demo.machines.iter().any(|m| body(&shop).contains(&m.name)));
        // A printed text keeps the same silence.
        let (_, text, _) = answered(&to_customer);
        for name in demo.machines.iter().map(|m| m.name.as_str()).chain(["collet", "markup", "guide bushing"]) {
            assert!(!text.contains(name), "{command:?}: the text tells a customer of {name}");
        }
    }
}

#[test]
fn a_quote_of_a_refused_part_says_why_and_what_comes_nearest() {
    let folder = Folder::new("refused");
    let html = page(&folder, &["quote", "parts/valve-spool.turn", "--machine", "gang-20", "--mode", "guided"]);
    assert!(!html.contains("Not offered"));
    let html = page(&folder, &["quote", "parts/valve-spool.turn", "--machine", "switch-36", "--mode", "collet"]);
    let words = read(&html).join(" ");
    assert!(words.contains("Not offered") && words.contains("Why it is not offered"), "{words}");
    assert!(words.contains("Nearest:") || words.contains("No change, and no two together"), "{words}");
    assert!(words.contains("capability"), "{words}");
}

#[test]
fn a_quote_page_shows_every_price_of_the_quote() {
    let folder = Folder::new("prices");
    let command = ["quote", "parts", "--quantity", "7,1000"];
    let html = page(&folder, &[&command[..], &["--reader", "customer"]].concat());
    let words: Vec<String> = read(&html).iter().map(|w| w.replace(',', "")).collect();
    let (_, out, _) = answered(&[&command[..], &["--format", "json"]].concat());
    let quote: serde_json::Value = serde_json::from_str(&out).unwrap();
    let mut prices = 0;
    for b in quote[0]["offers"].as_array().unwrap().iter().flat_map(|o| o["breaks"].as_array().unwrap()) {
        let total = format!("{:.2}", b["routes"][0]["total"].as_f64().unwrap());
        assert!(words.contains(&total), "no {total}");
        prices += 1;
    }
    assert!(prices > 20);
}

#[test]
fn a_sheet_shows_every_operation_tool_and_carrier() {
    let folder = Folder::new("sheet");
    for (part, machine) in LOOKED_AT {
        let command = ["plan", part, "--machine", machine];
        let html = page(&folder, &command);
        let (_, out, _) = answered(&[&command[..], &["--format", "json"]].concat());
        let sheets: serde_json::Value = serde_json::from_str(&out).unwrap();
        for sheet in sheets.as_array().unwrap() {
            let article = body(&html);
            let article = &article[article.find(&format!("id=\"{}\"", sheet["part"].as_str().unwrap())).unwrap()..];
            let from = article.find("<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart timeline\"").unwrap();
            let chart = &article[from..from + article[from..].find("</svg>").unwrap() + 6];
            let doc = Document::parse(chart).unwrap();
            let count = |class: &str| doc.descendants().filter(|n| n.attribute("class") == Some(class)).count();
            let rows = sheet["timeline"].as_array().unwrap();
            assert_eq!(count("lane"), rows.len(), "{part}");
            let stretches = || rows.iter().flat_map(|r| r["stretches"].as_array().unwrap());
            let lasts = |s: &serde_json::Value, from: &str, to: &str| s[to].as_f64() > s[from].as_f64();
            // One of each class stands in the key.
            assert_eq!(count("around") - 1, stretches().filter(|s| lasts(s, "from_s", "to_s")).count(), "{part}");
            let cuts = stretches().filter(|s| lasts(s, "cut_from_s", "cut_to_s"));
            let sub = |s: &&serde_json::Value| s["spindle"] == "sub";
            let (at_sub, at_main): (Vec<_>, Vec<_>) = cuts.partition(sub);
            assert_eq!((count("cut") - 1, count("cut sub") - 1), (at_main.len(), at_sub.len()), "{part}");
            for line in sheet["lines"].as_array().unwrap() {
                let row = format!("<td class=\"number rank\">{}</td>", line["number"]);
                assert!(article.contains(&row), "{part}: no line {}", line["number"]);
            }
            for place in sheet["places"].as_array().unwrap() {
                assert!(
                    article.contains(&format!("<th scope=\"row\">{}</th>", place["place"].as_str().unwrap())),
                    "{part}"
                );
            }
        }
    }
}
