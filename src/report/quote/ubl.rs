//! A quote as a Quotation of the Universal Business Language 2.1 (OASIS; ISO/IEC 19845): the quantity asked for is the line
//! item, every other quantity an alternative with the range of pieces that its price holds for, so that the total of the
//! quotation adds no alternatives up. Units are codes of UN/ECE Recommendation 20, from memory: H87 a piece, WEE a week, DAY a
//! day.

use super::{BreakAnswer, Cents, OfferAnswer, PartyAnswer, QuoteAnswer, Reader, RouteAnswer};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};
use std::io;

const QUOTATION: &str = "urn:oasis:names:specification:ubl:schema:xsd:Quotation-2";
const AGGREGATES: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
const BASICS: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";

const PIECE: &str = "H87";
const WEEK: &str = "WEE";
const DAY: &str = "DAY";

/// Why a quote is no quotation of the standard.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UblError {
    #[error("a quotation has a day of issue: add --date YYYY-MM-DD")]
    NoDate,
    #[error("a quotation lists what is offered, and `{0}` is not: leave it out")]
    NotOffered(String),
}

/// The quotation as XML, encoded in UTF-8.
///
/// # Errors
/// [`UblError`] where the quote lacks what the standard demands.
pub fn ubl(quote: &QuoteAnswer) -> Result<String, UblError> {
    let issued = quote.issued.as_ref().ok_or(UblError::NoDate)?;
    if let Some(o) = quote.offers.iter().find(|o| o.best().is_none()) {
        return Err(UblError::NotOffered(o.part.clone()));
    }
    let mut doc = Document { quote, xml: Writer::new_with_indent(Vec::new(), b' ', 2) };
    // Writing to memory does not fail.
    let _ = doc.quotation(issued);
    Ok(String::from_utf8(doc.xml.into_inner()).unwrap_or_default() + "\n")
}

struct Document<'a> {
    quote: &'a QuoteAnswer,
    xml: Writer<Vec<u8>>,
}

impl Document<'_> {
    fn quotation(&mut self, issued: &str) -> io::Result<()> {
        let quote = self.quote;
        self.xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        let namespaces = [("xmlns", QUOTATION), ("xmlns:cac", AGGREGATES), ("xmlns:cbc", BASICS)];
        self.xml.write_event(Event::Start(BytesStart::new("Quotation").with_attributes(namespaces)))?;
        self.basic("UBLVersionID", "2.1")?;
        self.basic("ID", &quote.identity)?;
        self.basic("IssueDate", issued)?;
        self.basic("PricingCurrencyCode", &quote.currency)?;
        self.basic("LineCountNumeric", &quote.offers.len().to_string())?;
        if let Some(day) = &quote.holds_to {
            self.within("ValidityPeriod", |d| {
                d.basic("StartDate", issued)?;
                d.basic("EndDate", day)?;
                quote.valid_days.map_or(Ok(()), |days| d.measure("DurationMeasure", &days.to_string(), DAY))
            })?;
        }
        if let Some(reference) = &quote.reference {
            self.within("RequestForQuotationDocumentReference", |d| d.basic("ID", reference))?;
        }
        self.within("SellerSupplierParty", |d| d.party(&quote.seller))?;
        if let Some(name) = &quote.customer {
            self.within("BuyerCustomerParty", |d| {
                d.within("Party", |d| d.within("PartyName", |d| d.basic("Name", name)))
            })?;
        }
        let total = quote.total();
        self.within("QuotedMonetaryTotal", |d| {
            d.amount("LineExtensionAmount", total)?;
            d.amount("PayableAmount", total)
        })?;
        for (i, offer) in quote.offers.iter().enumerate() {
            self.line(i + 1, offer)?;
        }
        self.xml.write_event(Event::End(BytesEnd::new("Quotation")))
    }

    fn line(&mut self, number: usize, offer: &OfferAnswer) -> io::Result<()> {
        let Some(best) = offer.best() else { return Ok(()) };
        self.within("QuotationLine", |d| {
            d.basic("ID", &number.to_string())?;
            for words in offer.assumptions_for(Reader::Customer) {
                d.basic("Note", words)?;
            }
            d.quantity("Quantity", best.quantity)?;
            d.amount("LineExtensionAmount", best.total)?;
            d.within("LineItem", |d| d.item(&number.to_string(), offer, best, None))?;
            for (i, b) in offer.breaks.iter().enumerate().filter(|(_, b)| b.quantity != offer.quantity) {
                let Some(route) = b.routes.first() else { continue };
                let range = (b.quantity, next(&offer.breaks, i).map(|n| n - 1));
                let id = format!("{number}.{}", i + 1);
                d.within("AlternativeLineItem", |d| d.item(&id, offer, route, Some(range)))?;
            }
            Ok(())
        })
    }

    /// A line item: an alternative has the range of pieces that its price holds for.
    fn item(
        &mut self,
        id: &str,
        offer: &OfferAnswer,
        route: &RouteAnswer,
        range: Option<(u64, Option<u64>)>,
    ) -> io::Result<()> {
        self.basic("ID", id)?;
        self.quantity("Quantity", route.quantity)?;
        self.amount("LineExtensionAmount", route.total)?;
        if let Some((least, most)) = range {
            self.quantity("MinimumQuantity", least)?;
            if let Some(most) = most {
                self.quantity("MaximumQuantity", most)?;
            }
        }
        if let Some(lead) = &route.lead {
            let weeks = super::words::weeks(lead.weeks);
            self.within("Delivery", |d| {
                d.within("EstimatedDeliveryPeriod", |d| d.measure("DurationMeasure", &weeks, WEEK))
            })?;
        }
        self.within("Price", |d| {
            d.amount("PriceAmount", route.price)?;
            d.quantity("BaseQuantity", route.per)
        })?;
        self.within("Item", |d| {
            d.basic("Description", &format!("{}, {}", offer.title, offer.material))?;
            d.basic("Name", &offer.part)?;
            d.within("SellersItemIdentification", |d| d.basic("ID", &offer.part))
        })
    }

    fn party(&mut self, p: &PartyAnswer) -> io::Result<()> {
        self.within("Party", |d| {
            d.within("PartyName", |d| d.basic("Name", &p.name))?;
            if p.street.is_some() || p.city.is_some() || p.postcode.is_some() || p.country.is_some() {
                d.within("PostalAddress", |d| {
                    d.optional("StreetName", p.street.as_deref())?;
                    d.optional("CityName", p.city.as_deref())?;
                    d.optional("PostalZone", p.postcode.as_deref())?;
                    let Some(code) = &p.country else { return Ok(()) };
                    d.within("Country", |d| d.basic("IdentificationCode", code))
                })?;
            }
            if let Some(number) = &p.tax_number {
                d.within("PartyTaxScheme", |d| {
                    d.basic("CompanyID", number)?;
                    d.within("TaxScheme", |d| d.basic("ID", "VAT"))
                })?;
            }
            let Some(email) = &p.email else { return Ok(()) };
            d.within("Contact", |d| d.basic("ElectronicMail", email))
        })
    }

    /// An aggregate with what stands in it.
    fn within(&mut self, name: &str, content: impl FnOnce(&mut Self) -> io::Result<()>) -> io::Result<()> {
        let name = format!("cac:{name}");
        self.xml.write_event(Event::Start(BytesStart::new(name.as_str())))?;
        content(self)?;
        self.xml.write_event(Event::End(BytesEnd::new(name.as_str())))
    }

    fn element(&mut self, name: &str, attribute: Option<(&str, &str)>, text: &str) -> io::Result<()> {
        let element = self.xml.create_element(format!("cbc:{name}"));
        let element = match attribute {
            Some(a) => element.with_attribute(a),
            None => element,
        };
        element.write_text_content(BytesText::new(text)).map(|_| ())
    }

    fn basic(&mut self, name: &str, text: &str) -> io::Result<()> {
        self.element(name, None, text)
    }

    fn optional(&mut self, name: &str, text: Option<&str>) -> io::Result<()> {
        text.map_or(Ok(()), |t| self.basic(name, t))
    }

    fn amount(&mut self, name: &str, amount: Cents) -> io::Result<()> {
        let text = self.quote.money(amount).replace(',', "");
        let currency = &self.quote.currency;
        self.element(name, Some(("currencyID", currency)), &text)
    }

    fn measure(&mut self, name: &str, text: &str, unit: &str) -> io::Result<()> {
        self.element(name, Some(("unitCode", unit)), text)
    }

    fn quantity(&mut self, name: &str, pieces: u64) -> io::Result<()> {
        self.measure(name, &pieces.to_string(), PIECE)
    }
}

/// The quantity of the next break.
fn next(breaks: &[BreakAnswer], i: usize) -> Option<u64> {
    breaks.get(i + 1).map(|b| b.quantity)
}
