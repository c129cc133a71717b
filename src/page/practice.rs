//! A practice as a page: the deck sheet, what is heard drawn and in words, what it rests on; and the sound.

use super::document::Document;
use super::typed::{DecimalMark, typed};
use super::{drawing, repeats, said, sheet};
use crate::diag::shown::printable;
use crate::plan::deck::{CARE, OPEN_WATER_CARE, far, whole};
use crate::prepare::Planned;
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use maud::{Markup, html};

const SCRIPT: &str = include_str!("page.js");

/// What is to be on the page.
#[derive(Clone, Copy, Debug)]
pub struct PracticePage<'p> {
    /// The practice.
    pub planned: &'p Planned,
    /// What was found in it that nobody must not overlook.
    pub cautions: &'p [String],
    /// What tells pages of this practice from others.
    pub identity: &'p str,
    /// The whole of it as MP3, if it is to be heard.
    pub sound: Option<&'p [u8]>,
    /// How its numbers are written.
    pub decimals: DecimalMark,
}

impl PracticePage<'_> {
    /// The file.
    pub fn html(&self) -> String {
        let plan = &self.planned.plan;
        let body = html! {
            (self.head())
            main {
                section #sheet aria-label="Deck sheet" {
                    @for (set, numbers) in self.planned.practice.sets().zip(&plan.sets) {
                        (sheet::set(set, numbers, plan.unit))
                    }
                    p.care { (CARE) @if plan.in_open_water() { " " (OPEN_WATER_CARE) } }
                }
                @if !self.cautions.is_empty() {
                    section #cautions {
                        h2 { "Look at this first" }
                        ul { @for caution in self.cautions { li { (typed(caution)) } } }
                    }
                }
                section #timeline {
                    h2 { "As it is heard" }
                    (drawing::timeline(self.planned))
                }
                section #said {
                    h2 { "What is said, and when" }
                    (said::said(self.planned))
                }
                section #repeats {
                    h2 { "Every start" }
                    (repeats::table(plan))
                }
                (self.about())
            }
            @if let Some(sound) = self.sound { (player(sound)) }
        };
        Document {
            title: &plan.title,
            body: &body,
            script: Some(SCRIPT),
            identity: self.identity,
            decimals: self.decimals,
        }
        .html()
    }

    fn head(&self) -> Markup {
        let plan = &self.planned.plan;
        let water = if plan.in_open_water() { plan.pool.clone() } else { format!("{} pool", plan.pool) };
        html! {
            header {
                h1 { (typed(&plan.title)) }
                p {
                    (water) " · " (whole(plan.duration)) " · " (far(&plan.sets, plan.distance)) " " (plan.unit)
                    " · " (plan.strokes) " counted strokes"
                    @if let Some(name) = &self.planned.swimmer.name { " · for " (typed(name)) }
                }
            }
            nav aria-label="On this page" {
                a href="#sheet" { "Sheet" }
                a href="#timeline" { "As heard" }
                a href="#said" { "Words" }
                a href="#repeats" { "Starts" }
                a href="#about" { "Assumed" }
            }
        }
    }

    /// What the numbers rest on, and what is not heard.
    fn about(&self) -> Markup {
        let plan = &self.planned.plan;
        html! {
            section #about {
                h2 { "What this assumes" }
                ul { @for assumption in &plan.assumptions { li { (printable(assumption)) } } }
                @if !plan.focus.is_empty() {
                    h2 { "Strokes per focus" }
                    table {
                        thead { tr { th scope="col" { "focus" } th.number scope="col" { "strokes" } } }
                        tbody {
                            @for focus in &plan.focus {
                                tr {
                                    th scope="row" { (typed(&focus.text)) }
                                    td.number { @if focus.strokes == 0 { "drill" } @else { (focus.strokes) } }
                                }
                            }
                        }
                    }
                }
                @if plan.breaths.left + plan.breaths.right > 0 {
                    h2 { "Breaths" }
                    p { (plan.breaths.left) " left, " (plan.breaths.right) " right" }
                }
                @if !plan.dropped.is_empty() {
                    h2 { "Not heard: there is no room for it" }
                    ul {
                        @for dropped in &plan.dropped {
                            li { (dropped.at) " " (typed(&dropped.text)) }
                        }
                    }
                }
            }
        }
    }
}

/// The practice to be heard; keys and buttons for getting about in it.
fn player(sound: &[u8]) -> Markup {
    html! {
        footer #player {
            audio controls preload="auto" src=(format!("data:audio/mpeg;base64,{}", BASE64_STANDARD.encode(sound))) {}
            div {
                button type="button" data-step="-1" { "Start before" }
                button type="button" data-step="1" { "Next start" }
            }
            p.now aria-live="off" { "space plays and stops, arrows move by 5 s, [ and ] by a start" }
        }
    }
}
