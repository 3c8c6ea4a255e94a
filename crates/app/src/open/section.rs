//! Parts of the report by themselves: is the pump fed, will the joint hold, does it fit, the cards of the bench.

use super::House;
use super::refusals::failure;
use super::shelf::Bench;
use crate::failure::Failure;
use crate::{clearances, feeds, seals, shop};
use report::page::{Piece, html, piece};
use serve::wire::{Part, SectionAnswer, SectionAsk};
use serve::workshop::Answer;

/// The answer.
pub fn section(house: &House, ask: &SectionAsk) -> Answer<SectionAnswer> {
    let bench = house.shelf.bench(&ask.variant)?;
    let told = |f: Failure| failure(house.shelf.folder(), f);
    match ask.part {
        Part::Feed => {
            if bench.prepared.design.feed.is_none() {
                return Ok(nothing(
                    "The design states no suction line: add [feed] (docs/feed.md).",
                ));
            }
            let driven = house.shelf.driven(&bench)?;
            let facts = feeds::look(&bench.prepared.design, &driven).map_err(told)?;
            Ok(shown(&bench, facts.as_ref().map(Piece::Feed)))
        }
        Part::Seal => seal(&bench).map_err(told),
        Part::Cards => cards(&bench).map_err(told),
        Part::Clearance => {
            let Some(looked) = clearances::look(&bench.prepared.design) else {
                let why = "The design does not say what stands round the pan: add [[keep_out]] or the like (docs/clearance.md).";
                return Ok(nothing(why));
            };
            Ok(shown(&bench, Some(Piece::Clearance(&looked.facts))))
        }
    }
}

fn seal(bench: &Bench) -> Result<SectionAnswer, Failure> {
    let design = &bench.prepared.design;
    let Some(facts) = seals::look(design)? else {
        let why = "The design states no joint: add [seal.flange], [seal.block], [seal.joint] and [seal.bolts] (docs/seal.md).";
        return Ok(nothing(why));
    };
    let order = facts.order.iter().flat_map(|order| &order.order);
    Ok(SectionAnswer {
        bolts: order.map(|bolt| format!("bolt {bolt}")).collect(),
        ..shown(
            bench,
            Some(Piece::Seal {
                design: &design.name,
                facts: &facts,
            }),
        )
    })
}

fn cards(bench: &Bench) -> Result<SectionAnswer, Failure> {
    let design = &bench.prepared.design;
    let seal = seals::look(design)?;
    let (facts, warnings) = shop::cards::looked(design, seal.as_ref())?;
    let mut answer = shown(
        bench,
        Some(Piece::Cards {
            design: &design.name,
            facts: &facts,
            seal: seal.as_ref(),
        }),
    );
    let warnings = warnings.iter().map(|warning| {
        let (said, mend) = (html::escape(&warning.said), html::escape(&warning.mend));
        format!("<p class=\"warning\">{said}. <span class=\"quiet\">Mend: {mend}.</span></p>\n")
    });
    answer.html = warnings.collect::<String>() + &answer.html;
    Ok(answer)
}

fn shown(bench: &Bench, part: Option<Piece>) -> SectionAnswer {
    let units = bench.prepared.design.units;
    SectionAnswer {
        html: part.map_or(String::new(), |part| piece(&part, units)),
        bolts: Vec::new(),
        nothing: None,
    }
}

fn nothing(why: &str) -> SectionAnswer {
    SectionAnswer {
        html: String::new(),
        bolts: Vec::new(),
        nothing: Some(why.to_owned()),
    }
}
