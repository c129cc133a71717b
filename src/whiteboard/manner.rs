//! What is said of a swim behind its distance, word by word. Words with a value of their own (rest, tempo, pace) are read in
//! [`values`](super::values); what the words come to in lengths is in [`draft`](super::draft).

use crate::diag::{Code, Diagnostic, Span, crop, nearest};
use crate::whiteboard::draft::{Draft, Listing, Place, Stage, key};
use crate::whiteboard::lex::TokenKind;
use crate::whiteboard::reader::BoardReader;
use crate::whiteboard::{names, words};

impl BoardReader<'_> {
    /// Everything up to where the swim ends.
    pub(super) fn manner(&mut self, draft: &mut Draft) {
        while let Some(next) = self.ahead(0).cloned() {
            if self.take_choice(draft) {
                continue;
            }
            match next {
                TokenKind::Stop { .. } => break,
                TokenKind::Comma | TokenKind::Plus | TokenKind::Slash if self.chooses(draft, 1) => self.at += 1,
                TokenKind::Comma | TokenKind::Plus if !draft.takes_parts() => {
                    if next == TokenKind::Plus && self.rest_or_swim() {
                        self.skip(draft.bracket);
                        break;
                    }
                    if next == TokenKind::Plus || self.swim_begins(1) {
                        break;
                    }
                    self.at += 1;
                }
                TokenKind::Comma | TokenKind::Plus | TokenKind::Slash
                    if self.whole_at(1).is_some() && self.is_word(2, &["x"]) =>
                {
                    break;
                }
                TokenKind::Comma | TokenKind::Plus | TokenKind::Dash => self.at += 1,
                TokenKind::Slash => {
                    self.at += 1;
                    if !self.swim_begins(0) {
                        draft.part(None, false);
                    }
                }
                TokenKind::Colon if draft.place == Place::Whole => {
                    self.at += 1;
                    draft.listing = Listing::Listed;
                }
                TokenKind::Open if !draft.bracket && !draft.is_rounds() => {
                    self.at += 1;
                    draft.bracket = true;
                    if !(self.swim_begins(0) || self.chooses(draft, 0)) {
                        draft.part(None, true);
                    }
                }
                TokenKind::Close if draft.bracket => {
                    self.at += 1;
                    draft.close();
                }
                TokenKind::Close => break,
                TokenKind::At if self.is_word(2, &["pace"]) => {
                    let start = self.here();
                    self.at += 1;
                    self.pace(draft, start);
                    self.take_word(&["pace"]);
                }
                TokenKind::At => self.at_sign(),
                TokenKind::Number(_) if matches!(self.ahead(1), Some(TokenKind::Strange(_))) => {
                    self.at += 1;
                    self.strange_sign();
                }
                TokenKind::Number(_) => self.manner_number(draft),
                TokenKind::Clock(_) => self.manner_clock(draft),
                TokenKind::Word(_) => self.manner_word(draft),
                TokenKind::Colon | TokenKind::Open | TokenKind::Strange(_) => self.strange_sign(),
            }
        }
        if draft.bracket {
            let span = self.here();
            self.fault(span, "a bracket is not closed", "put `)` where it ends");
        }
    }

    fn strange_sign(&mut self) {
        let span = self.here();
        let (message, hint) = match self.ahead(0) {
            Some(TokenKind::Strange('%')) => {
                ("an effort in percent", "say `easy`, `steady`, `brisk` or `fast`, or name a pace")
            }
            Some(TokenKind::Open) => ("a bracket within brackets", "take the inner one out"),
            _ => ("this sign has no meaning on the board", "remove it"),
        };
        self.at += 1;
        self.fault(span, message, hint);
    }

    /// A word; at least one token is taken.
    pub(super) fn manner_word(&mut self, draft: &mut Draft) {
        let start = self.here();
        if self.take_word(words::ON) {
            self.take_word(&["the"]);
            // Two digits alone are seconds on every deck, and three or one nobody could read.
            let bare = self.whole_at(0).is_some_and(|seconds| (10..100).contains(&seconds));
            if let Some(time) = self.time("a send-off", bare) {
                if self.is_word(0, &["per"]) {
                    let span = self.since(start);
                    self.skip(draft.bracket);
                    let hint = "write each distance with its own: `50 on 1:00; 75 on 1:30`";
                    return self.fault(span, "a send-off that goes by distance", hint);
                }
                if draft.is_rounds() {
                    let hint =
                        format!("write `on {}` behind each swim in the brackets that it is meant for", time.text);
                    return self.fault(
                        self.since(start),
                        "a send-off behind rounds: of each swim, or of each round?",
                        hint,
                    );
                }
                let words = format!("starting every {}", time.text);
                draft.put(self, key("send-off", time.text, words, self.since(start)));
            }
        } else if self.take_word(words::REST) {
            self.colon();
            self.rest(draft, start, false);
        } else if self.take_word(&["pace", "p"]) {
            self.colon();
            self.pace(draft, start);
        } else if self.take_word(&["tempo", "rate"]) {
            self.colon();
            self.tempo(draft, start);
        } else if self.take_word(&["drill", "drills"]) {
            self.colon();
            self.drill(draft, start);
        } else if self.take_word(&["focus"]) {
            self.colon();
            self.take_word(&["on"]);
            self.focus(draft, start);
        } else if self.take_word(&["breathe", "breathing", "b"]) {
            self.breathe(draft, start);
        } else if self.is_word(0, &["sight", "call"]) {
            self.every(draft, start);
        } else if self.is_word(0, &["at"]) && self.is_word(1, &["most"]) {
            self.at += 2;
            self.at_most(draft, start);
        } else if self.is_word(0, &["second"]) && self.is_word(1, &["half"]) {
            self.at += 2;
            self.second_half(draft, start);
        } else if self.is_word(0, &["between"]) {
            self.between(draft, start);
        } else if draft.stage != Stage::BeforeDistance && self.take_word(&["as"]) {
            draft.listing = Listing::Listed;
        } else if self.take_word(&["as"]) {
            self.skip(draft.bracket);
            self.fault(start, "`as` stands behind the whole distance", "for example `300 as 200 pull, 100 swim`");
        } else if self.is_word(0, &["alternate", "alternating", "alt"])
            && self.swim_begins(1)
            && draft.stage != Stage::BeforeDistance
        {
            self.at += 1;
            draft.listing = Listing::InTurn;
        } else if self.is_word(0, &["by"]) && self.whole_at(1).is_some() {
            self.by(draft);
        } else if self.is_word(0, &["ladder", "pyramid"]) && draft.stage == Stage::BeforeDistance && self.is_list(1) {
            self.at += 1;
        } else if self.take_word(words::FILLERS) {
        } else if let Some((count, means)) = words::manner(&self.words()) {
            self.at += count;
            for (name, value) in means {
                let words = match (*name, *value) {
                    ("test", _) => "timed, without voice or beats".to_owned(),
                    ("count", _) => "count the strokes of the last length".to_owned(),
                    ("breathe", every) => format!("breathe {every}"),
                    (_, value) => value.to_owned(),
                };
                draft.put(self, key(name, *value, words, self.since(start)));
            }
        } else if names::find(&self.words(), &self.known.drills).is_some() {
            self.drill(draft, start);
            self.take_word(&["drill", "drills"]);
        } else {
            self.strange_word();
        }
    }

    /// `by 25`, `by 25s`: how long each of the parts is that come in turn.
    fn by(&mut self, draft: &mut Draft) {
        self.at += 1;
        let place = self.here();
        let Some(TokenKind::Number(number)) = self.ahead(0).cloned() else { return };
        self.at += 1;
        let distance = self.distance(&number, place);
        // "by 25s" are twenty-fives, not seconds.
        self.take_word(&["s"]);
        draft.by = distance;
    }

    /// Whether `+15` comes, which is too short for a swim: it is asked back.
    fn rest_or_swim(&mut self) -> bool {
        let seconds = self.whole_at(1).filter(|_| matches!(self.ahead(2), None | Some(TokenKind::Stop { .. })));
        let Some(seconds) = seconds.filter(|seconds| self.known.water.length.is_some_and(|length| *seconds < length))
        else {
            return false;
        };
        let span = self.here().to(self.tokens_span(1));
        self.fault(span, format!("`+{seconds}` is too short for a swim"), format!("is it a rest? `rest {seconds}`"));
        true
    }

    fn colon(&mut self) {
        self.at += usize::from(self.ahead(0) == Some(&TokenKind::Colon));
    }

    /// A number behind the distance: a tempo, a rest, a part of the repeat.
    fn manner_number(&mut self, draft: &mut Draft) {
        let start = self.here();
        let Some(TokenKind::Number(number)) = self.ahead(0).cloned() else { return };
        let range = matches!(self.ahead(1), Some(TokenKind::Dash)) || self.is_word(1, &["to"]);
        let unit_at = if range && matches!(self.ahead(2), Some(TokenKind::Number(_))) { 3 } else { 1 };
        let per_minute = self.is_word(unit_at, &["spm"])
            || (self.ahead(unit_at) == Some(&TokenKind::Slash) && self.is_word(unit_at + 1, words::MINUTES))
            || (self.is_word(unit_at, &["strokes"]) && self.is_word(unit_at + 2, words::MINUTES))
            || (self.is_word(unit_at, &["per", "a"]) && self.is_word(unit_at + 1, words::MINUTES));
        let timed = self.is_word(1, words::SECONDS) || self.is_word(1, words::MINUTES);
        let resting = self.rest_after(1)
            || (timed && (self.rest_after(2) || self.is_word(2, &["per", "between"])))
            || self.is_word(1, &["per"]);
        if per_minute || (number.contains('.') && !resting && !self.is_word(1, words::MINUTES)) {
            self.tempo(draft, start);
        } else if resting {
            self.rest(draft, start, true);
        } else if timed {
            self.at += 2;
            let hint = format!("a rest is written `rest {number} s`, a send-off `on {number} s`");
            self.fault(self.since(start), format!("{number} of time, but for what?"), hint);
        } else if self.is_word(1, &["x"]) || draft.is_timed() && !draft.takes_parts() {
            self.skip(draft.bracket);
            self.fault(start, "another swim begins here", "put `;` before it");
        } else if draft.is_rounds() {
            self.at += 1;
            self.fault(start, format!("`{number}` behind rounds has no meaning"), "put `;` before the next swim");
        } else {
            self.at += 1;
            let Some(distance) = self.distance(&number, start) else { return };
            if !draft.groups.is_empty() {
                self.skip(draft.bracket);
                let hint =
                    "if another swim begins, put `;` before it; parts of a repeat stand before what goes by repeat";
                return self.fault(start, "a distance behind what goes by repeat", hint);
            }
            draft.part(Some(distance), false);
        }
    }

    fn manner_clock(&mut self, draft: &mut Draft) {
        let start = self.here();
        let Some(TokenKind::Clock(text)) = self.ahead(0).cloned() else { return };
        if self.rest_after(1) || self.is_word(1, &["between", "per"]) {
            return self.rest(draft, start, true);
        }
        self.at += 1;
        let hint = format!("`on {text}` is a send-off, `rest {text}` a rest, `pace {text}` a pace");
        self.fault(start, format!("`{text}` of what?"), hint);
    }

    fn drill(&mut self, draft: &mut Draft, start: Span) {
        let Some((count, id)) = names::find(&self.words(), &self.known.drills) else {
            let known: Vec<_> = self.known.drills.iter().map(|name| format!("`{}`", name.id)).collect();
            let hint = if known.is_empty() {
                "the pack has no drills; name another with --pack".to_owned()
            } else {
                format!("the packs have {}", known.join(", "))
            };
            // What is a word of its own was not meant for a name.
            if self.words().is_empty()
                || self.chooses(draft, 0)
                || words::manner(&self.words()).is_some()
                || self.is_word(0, words::ON)
                || self.is_word(0, words::REST)
            {
                return self.fault(start, "which drill?", hint);
            }
            let span = self.here();
            let word = self.word_at(0).unwrap_or("").to_owned();
            let near = nearest(&word, self.known.drills.iter().map(|name| name.id.as_str()));
            let hint = near.map_or(hint, |near| format!("did you mean `{near}`?"));
            self.at += 1;
            let message = format!("no pack has a drill `{}`", crop(&word));
            return self.problems.push(Diagnostic::at(Code::UnknownName, span, message).hint(hint));
        };
        let id = id.to_owned();
        self.at += count;
        let words = format!("{} drill", id.replace('-', " "));
        let span = self.since(start);
        draft.put(self, key("drill", id.clone(), words, span));
        self.drills.push(id);
    }

    fn focus(&mut self, draft: &mut Draft, start: Span) {
        let mut ids: Vec<String> = Vec::new();
        loop {
            let Some((count, id)) = names::find(&self.words(), &self.known.phrases) else {
                let span = self.here();
                let word = self.word_at(0).unwrap_or("").to_owned();
                let near = nearest(&word, self.known.phrases.iter().map(|name| name.id.as_str()));
                let hint = near.map_or_else(
                    || "a focus is the id or the text of a phrase, such as `reach-forward`".to_owned(),
                    |near| format!("did you mean `{near}`?"),
                );
                self.at += usize::from(!word.is_empty());
                let message = if word.is_empty() {
                    "which focus phrase?".to_owned()
                } else {
                    format!("no pack has a phrase `{}`", crop(&word))
                };
                return self.problems.push(Diagnostic::at(Code::UnknownName, span, message).hint(hint));
            };
            let id = id.to_owned();
            self.at += count;
            if !ids.contains(&id) {
                ids.push(id);
            }
            // Another phrase may follow; any other word is not this key's.
            let joined =
                matches!(self.ahead(0), Some(TokenKind::Comma | TokenKind::Slash)) || self.is_word(0, &["and"]);
            let after: Vec<_> = (1..).map_while(|by| self.word_at(by)).take(8).collect();
            if !joined || names::find(&after, &self.known.phrases).is_none() {
                break;
            }
            self.at += 1;
        }
        let words = format!("focus {}", ids.join(", then "));
        let value = if let [one] = ids.as_slice() { one.clone() } else { format!("[{}]", ids.join(", ")) };
        let span = self.since(start);
        if ids.len() > 1 && draft.place == Place::Part {
            return self.fault(span, "a part of a repeat has one focus", "leave the others out");
        }
        draft.put(self, key("focus", value, words, span));
        self.phrases.extend(ids);
    }
}
