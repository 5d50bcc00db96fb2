//! The quotation after the Universal Business Language 2.1: which element stands where and how often, and what it says.
//! `tests/validate_ubl.sh` holds it against the standard's own schemas.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use common::Demo;
use roxmltree::{Document, Node};
use turnwright::matching::quoting::{self, Scope};
use turnwright::model::part::Part;
use turnwright::report::quote::{self, Heading, QuoteAnswer, UblError};

/// How often an element may stand.
#[derive(Clone, Copy, PartialEq)]
enum Times {
    One,
    Maybe,
    Any,
    Some,
}
use Times::{Any, Maybe, One, Some as AtLeastOne};

/// Children by parent in the order of the schema UBL-CommonAggregateComponents-2.1.xsd and UBL-Quotation-2.1.xsd (read; only
/// those that a quotation of this program has, and what the standard demands).
const ORDER: &[(&str, &[(&str, Times)])] = &[
    (
        "Quotation",
        &[
            ("UBLVersionID", Maybe),
            ("ID", One),
            ("IssueDate", One),
            ("Note", Any),
            ("PricingCurrencyCode", Maybe),
            ("LineCountNumeric", Maybe),
            ("ValidityPeriod", Maybe),
            ("RequestForQuotationDocumentReference", Maybe),
            ("SellerSupplierParty", One),
            ("BuyerCustomerParty", Maybe),
            ("QuotedMonetaryTotal", One),
            ("QuotationLine", AtLeastOne),
        ],
    ),
    ("ValidityPeriod", &[("StartDate", Maybe), ("EndDate", Maybe), ("DurationMeasure", Maybe)]),
    ("RequestForQuotationDocumentReference", &[("ID", One)]),
    ("SellerSupplierParty", &[("Party", Maybe)]),
    ("BuyerCustomerParty", &[("Party", Maybe)]),
    ("Party", &[("PartyName", Any), ("PostalAddress", Maybe), ("PartyTaxScheme", Any), ("Contact", Maybe)]),
    ("PartyName", &[("Name", One)]),
    ("PostalAddress", &[("StreetName", Maybe), ("CityName", Maybe), ("PostalZone", Maybe), ("Country", Maybe)]),
    ("Country", &[("IdentificationCode", Maybe)]),
    ("PartyTaxScheme", &[("CompanyID", Maybe), ("TaxScheme", One)]),
    ("TaxScheme", &[("ID", Maybe)]),
    ("Contact", &[("ElectronicMail", Maybe)]),
    ("QuotedMonetaryTotal", &[("LineExtensionAmount", Maybe), ("PayableAmount", One)]),
    (
        "QuotationLine",
        &[
            ("ID", Maybe),
            ("Note", Any),
            ("Quantity", Maybe),
            ("LineExtensionAmount", Maybe),
            ("LineItem", One),
            ("AlternativeLineItem", Any),
        ],
    ),
    ("LineItem", LINE_ITEM),
    ("AlternativeLineItem", LINE_ITEM),
    ("Delivery", &[("EstimatedDeliveryPeriod", Maybe)]),
    ("EstimatedDeliveryPeriod", &[("DurationMeasure", Maybe)]),
    ("Price", &[("PriceAmount", One), ("BaseQuantity", Maybe)]),
    ("Item", &[("Description", Any), ("Name", Maybe), ("SellersItemIdentification", Maybe)]),
    ("SellersItemIdentification", &[("ID", One)]),
];

const LINE_ITEM: &[(&str, Times)] = &[
    ("ID", One),
    ("Quantity", Maybe),
    ("LineExtensionAmount", Maybe),
    ("MinimumQuantity", Maybe),
    ("MaximumQuantity", Maybe),
    ("Delivery", Any),
    ("Price", Maybe),
    ("Item", One),
];

/// The children of an element against the order and the times of the standard.
fn hold(node: Node) {
    let children: Vec<Node> = node.children().filter(Node::is_element).collect();
    let name = node.tag_name().name();
    let Some((_, order)) = ORDER.iter().find(|(parent, _)| *parent == name) else {
        assert!(children.is_empty(), "`{name}` has children");
        return;
    };
    let mut rest = children.as_slice();
    for (child, times) in *order {
        let count = rest.iter().take_while(|n| n.tag_name().name() == *child).count();
        let fine = match times {
            One => count == 1,
            Maybe => count <= 1,
            AtLeastOne => count >= 1,
            Any => true,
        };
        assert!(fine, "`{name}` has {count} of `{child}`");
        rest = &rest[count..];
    }
    assert!(rest.is_empty(), "`{name}`: `{}` stands where it may not", rest[0].tag_name().name());
    children.into_iter().for_each(hold);
}

fn quoted(demo: &Demo, parts: &[&Part], heading: Heading) -> QuoteAnswer {
    let scope = Scope { machines: &demo.machines, shop: &demo.shop, mode: None };
    let offer = |p: &&Part| quote::offer(p, scope.machines, scope.shop, &quoting::offer(p, scope, &[]));
    quote::answer(&demo.shop, "0123-4567-89ab".to_owned(), heading, parts.iter().map(offer).collect())
}

fn dated() -> Heading {
    Heading {
        issued: Some("2026-11-25".to_owned()),
        holds_to: Some("2026-12-25".to_owned()),
        customer: Some("Example <Hydraulics> & Sons".to_owned()),
        reference: Some("RFQ 17".to_owned()),
    }
}

fn text<'a>(node: Node<'a, 'a>, name: &str) -> Option<&'a str> {
    node.children().find(|n| n.tag_name().name() == name)?.text()
}

#[test]
fn every_element_stands_where_the_standard_has_it() {
    let mut demo = Demo::whole();
    let seller = demo.shop.quotes.seller.as_mut().unwrap();
    seller.tax_number = Some("ZZ123".to_owned());
    seller.email = Some("office@fernhollow.invalid".to_owned());
    let mut written = 0;
    for part in &demo.parts {
        let quote = quoted(&demo, &[part], dated());
        if !quote.is_whole() {
            continue;
        }
        let xml = quote::ubl(&quote).unwrap();
        let doc = Document::parse(&xml).unwrap();
        assert!(xml.starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"));
        hold(doc.root_element());
        written += 1;
    }
    assert!(written > 15, "{written}");
}

#[test]
fn the_quantity_asked_for_is_the_line_item_and_the_others_are_alternatives() {
    let demo = Demo::whole();
    let (spool, collar) = (demo.part("valve-spool"), demo.part("port-collar"));
    let quote = quoted(&demo, &[spool, collar], dated());
    let xml = quote::ubl(&quote).unwrap();
    let doc = Document::parse(&xml).unwrap();
    let lines: Vec<Node> = doc.root_element().children().filter(|n| n.tag_name().name() == "QuotationLine").collect();
    assert_eq!(lines.len(), 2);
    let mut payable = 0;
    for (line, offer) in lines.iter().zip(&quote.offers) {
        let items: Vec<Node> = line.children().filter(|n| n.tag_name().name().ends_with("LineItem")).collect();
        assert_eq!(items.len(), offer.breaks.len());
        for item in &items {
            let quantity: u64 = text(*item, "Quantity").unwrap().parse().unwrap();
            let at = offer.breaks.iter().position(|b| b.quantity == quantity).unwrap();
            let price = item.children().find(|n| n.tag_name().name() == "Price").unwrap();
            let cents = |t: &str| t.replace('.', "").parse::<i64>().unwrap();
            let base: i64 = text(price, "BaseQuantity").unwrap().parse().unwrap();
            let (each, total) =
                (cents(text(price, "PriceAmount").unwrap()), cents(text(*item, "LineExtensionAmount").unwrap()));
            // Quantity x price / base, halves up.
            assert_eq!((each * quantity as i64 * 2 + base) / (base * 2), total);
            if item.tag_name().name() == "LineItem" {
                assert_eq!(quantity, offer.quantity);
                assert_eq!(text(*item, "MinimumQuantity"), None);
                payable += total;
            } else {
                assert_eq!(text(*item, "MinimumQuantity").unwrap(), quantity.to_string());
                let most = offer.breaks.get(at + 1).map(|b| (b.quantity - 1).to_string());
                assert_eq!(text(*item, "MaximumQuantity"), most.as_deref());
            }
        }
    }
    let total = doc.descendants().find(|n| n.tag_name().name() == "PayableAmount").unwrap();
    assert_eq!(total.text().unwrap().replace('.', "").parse::<i64>().unwrap(), payable);
    assert_eq!(total.attribute("currencyID"), Some("EUR"));
    assert!(doc.descendants().filter(|n| n.has_attribute("unitCode")).count() > 10);
    let buyer = doc.descendants().find(|n| n.tag_name().name() == "BuyerCustomerParty").unwrap();
    assert!(buyer.descendants().any(|n| n.text() == Some("Example <Hydraulics> & Sons")));
}

#[test]
fn what_the_standard_demands_and_the_quote_lacks_is_said() {
    let demo = Demo::whole();
    let spool = demo.part("valve-spool");
    assert_eq!(quote::ubl(&quoted(&demo, &[spool], Heading::default())), Err(UblError::NoDate));
    let mut none = demo.part("flange-45").clone();
    none.name = "giant".to_owned();
    let lathe = demo.machine("gang-12");
    let small = Demo { parts: Vec::new(), machines: vec![lathe.clone()], shop: demo.shop.clone() };
    let quote = quoted(&small, &[&none], dated());
    assert!(quote.offers[0].refusal.is_some());
    assert_eq!(quote::ubl(&quote), Err(UblError::NotOffered("giant".to_owned())));
}
