//! The sound exposure of a practice in words and numbers. It is an estimate, and says so wherever it appears.

use crate::audio::exposure::Ears;
use crate::render::exposure::{CAUTION, Estimate};
use serde::Serialize;

/// How the numbers came about.
const HOW: &str = "an estimate: energy of the A-weighted samples (IEC 61672-1) over the whole length, at the level stated for \
a full-scale 1 kHz sine; dose: NIOSH 98-126 (85 dBA, 3 dB, 8 h); allowance: ITU-T H.870, WHO-ITU";

/// An exposure in numbers.
#[derive(Debug, Serialize)]
pub struct ExposureRecord {
    laeq_dba: f64,
    full_scale_dba: f64,
    duration_h: f64,
    niosh_dose_percent: f64,
    week_percent: f64,
    allowance_pa2h: f64,
    sensitive_ears: bool,
    caution: bool,
    how: &'static str,
}

impl ExposureRecord {
    /// An estimate to as many digits as it deserves.
    pub fn of(estimate: &Estimate) -> Self {
        let to = |value: f64, digits: f64| libm::round(value * digits) / digits;
        Self {
            laeq_dba: to(estimate.exposure.laeq, 10.0),
            full_scale_dba: estimate.loudest.dba(),
            duration_h: to(estimate.exposure.hours, 1_000.0),
            niosh_dose_percent: to(estimate.exposure.dose() * 100.0, 100.0),
            week_percent: to(estimate.of_week() * 100.0, 100.0),
            allowance_pa2h: to(estimate.ears.allowance(), 100.0),
            sensitive_ears: estimate.ears == Ears::Sensitive,
            caution: estimate.is_much(),
            how: HOW,
        }
    }

    fn whose(&self) -> &'static str {
        if self.sensitive_ears { "a child's or sensitive ears" } else { "an adult" }
    }

    /// A few words for a table.
    pub fn brief(&self) -> String {
        let caution = if self.caution { ", a caution" } else { "" };
        format!("about {:.0} dBA at the ear, {} of a week{caution}", self.laeq_dba, percent(self.week_percent))
    }

    /// Lines for a person.
    pub fn text(&self) -> String {
        let mut text = format!(
            "At the ear, estimated: {:.0} dBA on average if a full-scale tone is {:.1} dBA there · {} of a day's dose (NIOSH) · \
             {} of a week's allowance for {} ({:.2} Pa²h)\n",
            self.laeq_dba,
            self.full_scale_dba,
            percent(self.niosh_dose_percent),
            percent(self.week_percent),
            self.whose(),
            self.allowance_pa2h,
        );
        if self.caution {
            text.push_str(&format!(
                "Caution: one such practice is more than {:.0} % of what ears may hear in a week, all other sound included. Turn the \
                 player down: 3 dB less is half the dose.\n",
                CAUTION * 100.0
            ));
        }
        text
    }
}

fn percent(value: f64) -> String {
    match value {
        v if v < 0.1 => "under 0.1 %".to_owned(),
        v if v < 10.0 => format!("{v:.1} %"),
        v => format!("{v:.0} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::exposure::Exposure;
    use crate::units::level::SoundLevel;

    #[test]
    fn a_quarter_of_the_week_is_a_caution() {
        // 80 dBA for 10 hours is a quarter of ITU-T H.870's 40 hours; children have the same at 75 dBA.
        for (laeq, ears, caution) in [
            (80.0, Ears::Adult, false),
            (80.02, Ears::Adult, true),
            (75.0, Ears::Sensitive, false),
            (75.02, Ears::Sensitive, true),
        ] {
            let exposure = Exposure { laeq, hours: 10.0 };
            let estimate = Estimate { exposure, loudest: SoundLevel::new(94.0).unwrap(), ears };
            let record = ExposureRecord::of(&estimate);
            assert_eq!((record.caution, record.text().contains("Caution")), (caution, caution), "{record:?}");
            assert!(record.text().contains("estimated") && record.brief().contains(" 25 %"), "{}", record.brief());
        }
    }

    #[test]
    fn small_shares_are_not_shown_as_nothing() {
        assert_eq!([0.004, 0.26, 25.4].map(percent), ["under 0.1 %", "0.3 %", "25 %"]);
    }
}
