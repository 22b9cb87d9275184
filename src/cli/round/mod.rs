//! `skep round`: the round as plain lines, a question and an answer each, for
//! a screen reader or a terminal that can do no more.
//!
//! It drives the same state as the dashboard: an answer goes into the same pad
//! as a key would, so that the same grammar, doubts and deeds hold.

mod words;

use super::args::Round as Args;
use super::exits::Exit;
use super::report::safe_lines;
use super::shell::Shell;
use super::today::morning_by;
use super::trouble::Trouble;
use crate::app::field::Field;
use crate::app::keys::Action;
use crate::app::overlay::Overlay;
use crate::app::round::{self, Ask, Round, Stop};
use crate::app::slip::{self, Understood};
use crate::app::update::act;
use crate::app::{Effect, Kept, Msg, Options, State, steps, update};
use crate::clock;
use crate::domain::records::StepKind;
use crate::engine::Warning;
use crate::store::Store;
use crate::tui::{carry_all, loaded};
use crate::work;
use std::io::BufRead;
use std::sync::Arc;
use words::Answer;

pub(super) fn round(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    if sh.json {
        return Err(Trouble::usage(
            "the round talks in lines; skep today --json is the morning for programs",
        ));
    }
    let store = sh.open()?;
    let options = Options {
        demo: false,
        first: None,
        zone: sh.zone,
    };
    let mut walk = Walk {
        state: State::new(sh.now, options),
        store,
        sh,
    };
    walk.tell()?;
    if args.list {
        walk.due()?;
        return Ok(Exit::Fine);
    }
    round::begin(&mut walk.state);
    walk.go(&mut std::io::stdin().lock())
}

struct Walk<'s, 'o> {
    sh: &'s mut Shell<'o>,
    store: Store,
    state: State,
}

/// What comes after an answer.
enum Next {
    /// The stop that the round stands at now.
    GoOn,
    /// The same question again.
    Again,
    /// The end.
    End,
}

impl Walk<'_, '_> {
    /// The household as stored and what the engine makes of it.
    fn tell(&mut self) -> Result<(), Trouble> {
        let now = self.sh.now;
        let (loaded, history) = loaded(&self.store, now)?;
        let revision = loaded.household.revision;
        let morning = morning_by(self.sh, &loaded.household, &history, now);
        update(&mut self.state, Msg::Household(Box::new(loaded)), now);
        let msg = Msg::Morning(revision, Arc::new(morning));
        update(&mut self.state, msg, now);
        Ok(())
    }

    fn say(&mut self, text: &str) -> Result<(), Trouble> {
        writeln!(self.sh.out, "{}", safe_lines(text))?;
        Ok(())
    }

    fn due(&mut self) -> Result<(), Trouble> {
        for line in words::due(&self.state) {
            self.say(&line)?;
        }
        Ok(())
    }

    fn here(&self) -> Option<Stop> {
        self.state.round.as_ref()?.stop().cloned()
    }

    fn go(&mut self, input: &mut dyn BufRead) -> Result<Exit, Trouble> {
        self.say(&words::beginning(&self.state))?;
        while let Some(stop) = self.here() {
            for line in words::stop(&self.state, &stop) {
                self.say(&line)?;
            }
            loop {
                self.say(words::question(&stop))?;
                let Some(line) = self.listen(input)? else {
                    return self.end();
                };
                match self.answer(&stop, &line, input)? {
                    Next::GoOn => break,
                    Next::Again => {}
                    Next::End => return self.end(),
                }
            }
        }
        self.end()
    }

    fn end(&mut self) -> Result<Exit, Trouble> {
        let said = self.state.round.as_ref().map(Round::last_line);
        self.say(&said.unwrap_or_default())?;
        for line in words::can_wait(&self.state) {
            self.say(&line)?;
        }
        Ok(Exit::Fine)
    }

    /// The next line; none at the end of the input.
    fn listen(&mut self, input: &mut dyn BufRead) -> Result<Option<String>, Trouble> {
        self.sh.out.flush()?;
        let mut line = String::new();
        let read = input
            .read_line(&mut line)
            .map_err(|why| Trouble::broken(format!("the answer can't be read: {why}")))?;
        // Time goes on while the maker is at the vessels.
        self.sh.now = clock::now();
        update(&mut self.state, Msg::Tick, self.sh.now);
        Ok((read > 0).then(|| line.trim().to_owned()))
    }

    fn answer(
        &mut self,
        stop: &Stop,
        line: &str,
        input: &mut dyn BufRead,
    ) -> Result<Next, Trouble> {
        match words::answer(line) {
            Answer::Yes => self.yes(stop, input),
            Answer::Done(amount) => self.done(stop, amount, input),
            Answer::Later => {
                act(&mut self.state, Action::Later, None);
                Ok(Next::GoOn)
            }
            Answer::Back => {
                act(&mut self.state, Action::Left, None);
                Ok(Next::GoOn)
            }
            Answer::Skip(reason) => self.skip(reason, input),
            Answer::Move(day) => self.shift(day, input),
            Answer::Undo => self.take_back(),
            Answer::Due => {
                self.due()?;
                Ok(Next::Again)
            }
            Answer::Why => {
                for line in words::about(&self.state, stop) {
                    self.say(&line)?;
                }
                Ok(Next::Again)
            }
            Answer::Help => {
                self.say(words::HELP)?;
                Ok(Next::Again)
            }
            Answer::End => Ok(Next::End),
            Answer::Slip(text) => self.slip(stop, text, input),
        }
    }

    /// Yes does what the stop asks for, where that takes no value.
    fn yes(&mut self, stop: &Stop, input: &mut dyn BufRead) -> Result<Next, Trouble> {
        match &stop.ask {
            Ask::Step(due) if due.kind != StepKind::Read => self.done(stop, "", input),
            Ask::TooLate(_) => self.skip("", input),
            _ => {
                self.say("Type what you saw, such as 42 or 1.042 68f; later leaves it.")?;
                Ok(Next::Again)
            }
        }
    }

    fn done(
        &mut self,
        stop: &Stop,
        amount: &str,
        input: &mut dyn BufRead,
    ) -> Result<Next, Trouble> {
        let step = self.state.step_in_hand().map(|d| d.step);
        let (Some(spot), Some(_)) = (stop.spot, step) else {
            self.say("No step is asked for here; type what you saw, or later.")?;
            return Ok(Next::Again);
        };
        steps::open_done(&mut self.state, spot, step);
        if let (Some(Overlay::Done(pad)), false) =
            (self.state.overlays.last_mut(), amount.is_empty())
        {
            pad.field = Field::with(amount);
        }
        self.accept(input)
    }

    fn skip(&mut self, reason: &str, input: &mut dyn BufRead) -> Result<Next, Trouble> {
        let Some(due) = self.state.step_in_hand().cloned() else {
            self.say("No step is asked for here; later leaves it.")?;
            return Ok(Next::Again);
        };
        steps::open_skip(&mut self.state, due);
        if let (Some(Overlay::Skip(pad)), false) =
            (self.state.overlays.last_mut(), reason.is_empty())
        {
            pad.field = Field::with(reason);
        }
        self.accept(input)
    }

    fn shift(&mut self, day: &str, input: &mut dyn BufRead) -> Result<Next, Trouble> {
        let Some(due) = self.state.step_in_hand().cloned() else {
            self.say("No step is asked for here; later leaves it.")?;
            return Ok(Next::Again);
        };
        steps::open_move(&mut self.state, due);
        update(&mut self.state, Msg::Paste(day.to_owned()), self.sh.now);
        self.accept(input)
    }

    fn slip(&mut self, stop: &Stop, text: &str, input: &mut dyn BufRead) -> Result<Next, Trouble> {
        match (&stop.ask, stop.spot) {
            (Ask::Temperature(place), _) => slip::open_place(&mut self.state, *place, None),
            (_, Some(spot)) => slip::open(&mut self.state, spot, None),
            _ => {}
        }
        if self.state.overlays.is_empty() {
            self.say("Nothing lies in a vessel here that could be read.")?;
            return Ok(Next::Again);
        }
        update(&mut self.state, Msg::Paste(text.to_owned()), self.sh.now);
        self.accept(input)
    }

    /// Enter on the pad that was opened: kept, asked about once more, or said
    /// what is wrong with it.
    fn accept(&mut self, input: &mut dyn BufRead) -> Result<Next, Trouble> {
        let at = self.state.round.as_ref().map(|r| r.at);
        let effects = act(&mut self.state, Action::Accept, None);
        self.carry(effects)?;
        if let Some(asked) = self.doubt() {
            self.say(&format!("{asked} Keep it anyway? yes or no."))?;
            let yes = self.listen(input)?.is_some_and(|line| {
                matches!(words::answer(&line), Answer::Yes) && !line.is_empty()
            });
            if yes {
                let effects = act(&mut self.state, Action::Accept, None);
                self.carry(effects)?;
            }
        }
        if let Some(pad) = self.state.overlays.pop() {
            self.say(&words::objection(pad))?;
            return Ok(Next::Again);
        }
        let moved = self.state.round.as_ref().map(|r| r.at) != at;
        Ok(if moved { Next::GoOn } else { Next::Again })
    }

    /// What the pad on top wants to hear twice.
    fn doubt(&mut self) -> Option<String> {
        let top = self.state.overlays.last_mut()?;
        if !top.errand_mut()?.insisting {
            return None;
        }
        let today = self.state.now.day();
        Some(match top {
            Overlay::Slip(pad) => match &pad.understood {
                Understood::Clear { doubts, .. } => doubts.join(" "),
                Understood::Nothing | Understood::Unclear(_) => String::new(),
            },
            Overlay::Done(pad) => {
                let warning = pad.step().and_then(|s| s.warning.as_ref());
                warning.map_or("It is too late for this step.".into(), Warning::sentence)
            }
            Overlay::Move(pad) => pad.meaning(today).unwrap_or_default(),
            _ => String::new(),
        })
    }

    /// Carries out what the state asks of the store, and answers it.
    fn carry(&mut self, effects: Vec<Effect>) -> Result<(), Trouble> {
        for effect in effects {
            let Effect::CarryOut(ticket, deeds) = effect else {
                continue;
            };
            let now = self.sh.now;
            match carry_all(&mut self.store, &deeds, now) {
                Ok(said) => {
                    self.sh.saved = Some(said.clone());
                    self.say(&format!("Kept: {said}."))?;
                    let revision = self.store.revision().map_err(Trouble::store)?;
                    let kept = Kept { said, revision };
                    update(&mut self.state, Msg::Kept(ticket, kept), now);
                    self.tell()?;
                }
                Err(why) => {
                    update(&mut self.state, Msg::Refused(ticket, why.to_string()), now);
                }
            }
        }
        Ok(())
    }

    /// Takes the last change back and begins the round again with what stands then.
    fn take_back(&mut self) -> Result<Next, Trouble> {
        let name = work::undo(&mut self.store, self.sh.now)?;
        let Some(name) = name else {
            self.say("There is nothing to take back.")?;
            return Ok(Next::Again);
        };
        self.sh.saved = Some(format!("taken back: {name}"));
        self.say(&format!("Undone: {name}. The round begins again."))?;
        self.tell()?;
        round::begin(&mut self.state);
        Ok(Next::GoOn)
    }
}
