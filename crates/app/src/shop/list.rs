//! The list of parts with mass and cost: a table for programs and a page of text.

use job::Design;
use job::JointKind;
use pan::Region;
use serde::Serialize;
use shop::list::{self, Had, Row};
use shop::sheet::Blank;

use super::Folder;
use super::body::BodyFacts;
use super::gasket::GasketFacts;
use crate::failure::Failure;
use crate::terminal;

/// The list, as `--json` prints it.
#[derive(Debug, Serialize)]
pub struct ListFacts {
    /// The user's word for the currency.
    pub currency: String,
    /// The rows.
    pub rows: Vec<RowFact>,
    /// Mass of all parts whose mass is known [kg].
    pub mass: f64,
    /// Metal, sheet and bought parts.
    pub bought: f64,
    /// Cutting, holes and bends.
    pub work: f64,
    /// Parts that the sum leaves out: no price is known.
    pub without_price: Vec<String>,
    /// Prices that are assumptions of this program.
    pub assumed: Vec<String>,
}

/// A row, SI.
#[derive(Debug, Serialize)]
pub struct RowFact {
    /// The part.
    #[serde(flatten)]
    pub row: Row,
    /// What all of it costs; none without a price.
    pub cost: Option<f64>,
}

/// Makes the list.
pub fn make(
    design: &Design,
    body: Option<&BodyFacts>,
    blanks: &[Blank],
    gasket: Option<&GasketFacts>,
    folder: &mut Folder,
) -> Result<ListFacts, Failure> {
    let rows = rows(design, body, blanks, gasket);
    let prices = &design.shop.prices;
    let cost = list::making_cost(&rows, prices, 0.0);
    let of = |row: &Row| prices.row(row).map(|[bought, work]| bought + work);
    folder.add(
        "list.csv",
        "the parts, for a spreadsheet; units in its head",
        csv(&rows, &prices.currency, of)?,
    );
    let mass: f64 = rows
        .iter()
        .filter_map(|r| r.mass.map(|m| m * r.count as f64))
        .sum();
    let mut text = format!("{}: parts\n\n", design.name);
    text += &table(&rows, &prices.currency, of);
    text += &format!("\nmass of all that is known     {:.0} g\n", mass * 1e3);
    text += &format!(
        "metal, sheet, bought parts    {:.2} {}\n",
        cost.bought, prices.currency
    );
    text += &format!(
        "cutting, holes, bends         {:.2} {}\n",
        cost.work, prices.currency
    );
    text += &format!(
        "together, without hours       {:.2} {}\n",
        cost.sum(),
        prices.currency
    );
    if !cost.without.is_empty() {
        text += &format!(
            "\nNot in the sum, for they have no price: {}. Give one by [[shop.buy]].\n",
            cost.without.join(", ")
        );
    }
    if !design.shop.assumed.is_empty() {
        text += &format!(
            "\nAssumed and not yours: the prices {}. State them in [shop.prices].\n",
            design.shop.assumed.join(", ")
        );
    }
    text += "\nHours are not in it: they are most of a pan's cost. The pan's metal is its own mass and the waste; a pan milled from \
             a block needs the whole block.\n";
    folder.add("list.txt", "the same to read, with the sums", text);
    Ok(ListFacts {
        currency: prices.currency.clone(),
        mass,
        bought: cost.bought,
        work: cost.work,
        without_price: cost.without,
        assumed: design.shop.assumed.iter().map(|k| (*k).to_owned()).collect(),
        rows: rows
            .into_iter()
            .map(|row| RowFact { cost: of(&row), row })
            .collect(),
    })
}

/// Every part that the design knows of.
pub fn rows(
    design: &Design,
    body: Option<&BodyFacts>,
    blanks: &[Blank],
    gasket: Option<&GasketFacts>,
) -> Vec<Row> {
    let mut rows = Vec::new();
    if let Some(body) = body {
        rows.push(Row {
            part: "pan body".to_owned(),
            count: 1,
            material: body.metal.clone(),
            thickness: Some(design.shop.body.wall),
            volume: Some(body.volume),
            mass: Some(body.mass),
            holes: design.shop.body.bolts.len(),
            had: Had::Sheet,
            ..Row::default()
        });
    }
    rows.extend(blanks.iter().map(list::blank));
    let hole = design.shop.body.bolt_hole;
    if let Some(made) = gasket {
        rows.push(list::cut_gasket(
            made.area,
            made.cut,
            made.holes.len(),
            made.material,
            made.thickness,
        ));
    }
    if let Some(seal) = &design.sealing {
        let ring = [seal.outer.clone(), seal.inner.clone()].map(|l| Region::from_loops(&[l]));
        let plan = ring[0].difference(&ring[1]);
        let count = seal.bolts.at.len();
        match seal.kind {
            // It stands above as it is cut.
            JointKind::Sheet { .. } if gasket.is_some() => {}
            JointKind::Sheet { sheet, thickness, .. } => {
                rows.push(list::gasket(&plan, count, hole, sheet.name, thickness));
            }
            JointKind::Sealant { .. } => rows.push(bought("sealant", "sealant")),
            JointKind::Bead { .. } => rows.push(bought("rubber cord or bead", "rubber")),
        }
        let (t, length) = (seal.bolts.thread, seal.bolts.length);
        let name = format!("{} x {}", t.name, (length * 1e4).round() / 10.0);
        rows.push(list::bolts(&name, t.diameter, t.pitch_diameter(), length, count));
    }
    if let Some(feed) = &design.feed {
        rows.push(Row {
            cut: None,
            ..bought(
                &format!(
                    "pickup tube, bore {:.0} mm, {:.0} mm long",
                    feed.supply.line.bore() * 1e3,
                    feed.supply.line.length() * 1e3
                ),
                "",
            )
        });
    }
    rows.extend(design.shop.buy.iter().map(|b| Row {
        part: b.name.clone(),
        count: b.count,
        had: Had::At(b.price),
        ..Row::default()
    }));
    rows
}

fn bought(part: &str, material: &str) -> Row {
    Row {
        part: part.to_owned(),
        count: 1,
        material: material.to_owned(),
        had: Had::Bought,
        ..Row::default()
    }
}

/// A cell: what is not known stays empty.
fn cell(value: Option<f64>, factor: f64, decimals: usize) -> String {
    value.map_or(String::new(), |v| format!("{:.decimals$}", v * factor))
}

fn cells(row: &Row, cost: Option<f64>) -> [String; 11] {
    [
        row.part.clone(),
        row.count.to_string(),
        row.material.clone(),
        cell(row.thickness, 1e3, 2),
        cell(row.area, 1e4, 1),
        cell(row.volume, 1e6, 1),
        cell(row.mass, 1e3, 1),
        cell(row.cut, 1e3, 0),
        row.holes.to_string(),
        row.bends.to_string(),
        cell(cost, 1.0, 2),
    ]
}

fn csv(rows: &[Row], currency: &str, of: impl Fn(&Row) -> Option<f64>) -> Result<Vec<u8>, Failure> {
    let lost = |e: csv::Error| Failure::computing(e.to_string(), "report it: this is a fault of the program");
    // RFC 4180 ends its lines with CR LF.
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let cost = format!("cost of all [{currency}]");
    out.write_record([
        "part",
        "count",
        "material",
        "thickness [mm]",
        "area of one [cm2]",
        "volume of one [cm3]",
        "mass of one [g]",
        "cut length of one [mm]",
        "holes in one",
        "bends of one",
        &cost,
    ])
    .map_err(lost)?;
    for row in rows {
        out.write_record(cells(row, of(row))).map_err(lost)?;
    }
    out.into_inner()
        .map_err(|e| Failure::computing(e.to_string(), "report it: this is a fault of the program"))
}

fn table(rows: &[Row], currency: &str, of: impl Fn(&Row) -> Option<f64>) -> String {
    let head = [
        "part", "count", "of", "mm", "cm2", "cm3", "g", "cut, mm", "holes", "bends", currency,
    ];
    let mut lines = vec![head.map(str::to_owned).to_vec()];
    lines.extend(rows.iter().map(|row| cells(row, of(row)).to_vec()));
    terminal::columns(&lines)
}
