//! `devices`: the sound outputs and the microphones there are.

use super::args::Devices;
use super::failure::Failure;
use super::ui::Ui;
use crate::device::{self, DeviceError, Direction, Listed};
use crate::diag::shown::Shown;
use serde_json::{Value, json};
use std::time::Duration;

/// How long the system may take to answer.
const PATIENCE: Duration = Duration::from_secs(5);

/// Runs the command.
pub fn run(args: &Devices, ui: &mut Ui) -> Result<(), Failure> {
    ui.alone();
    // Both are asked at once: a system that does not answer costs one wait.
    let [outputs, inputs] = [Direction::Out, Direction::In].map(device::list).map(|pending| pending.wait(PATIENCE));
    let (outputs, inputs) = (outputs.map_err(failure)?, inputs.map_err(failure)?);
    let text = if args.json {
        Shown::json(&json!({ "devices": json(&outputs), "microphones": json(&inputs) }))
    } else if outputs.is_empty() && inputs.is_empty() {
        Shown::from("there is no sound output and no microphone; plug one in, or start the sound server\n")
    } else {
        table(Direction::Out, &outputs) + "\n" + table(Direction::In, &inputs)
    };
    Ok(ui.result(text)?)
}

fn failure(error: DeviceError) -> Failure {
    Failure::world(&error)
}

fn json(found: &[Listed]) -> Value {
    let device = |device: &Listed| {
        let Listed { name, id, default, rate, rates, channels } = device;
        json!({ "name": name, "id": id, "default": default, "rate": rate, "channels": channels,
                "rates": rates.map(|(low, high)| json!({ "lowest": low, "highest": high })) })
    };
    found.iter().map(device).collect()
}

fn table(way: Direction, found: &[Listed]) -> Shown {
    if found.is_empty() {
        return format!("no {}s\n", way.noun()).into();
    }
    let or_none = |number: Option<String>| number.unwrap_or_else(|| "-".to_owned());
    let rows: Vec<[String; 4]> = found
        .iter()
        .map(|device| {
            let name = format!("{}{}", device.name, if device.default { " (default)" } else { "" });
            let rates =
                device.rates.map(|(low, high)| if low == high { low.to_string() } else { format!("{low} to {high}") });
            [
                name,
                or_none(device.rate.map(|rate| rate.to_string())),
                or_none(device.channels.map(|channels| channels.to_string())),
                or_none(rates),
            ]
        })
        .collect();
    let heads = [way.noun(), "rate in Hz", "channels", "takes Hz"];
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count());
        cells.chain(heads.get(column).map(|head| head.len())).max().unwrap_or(0)
    };
    let line = |[name, rate, channels, rates]: [&str; 4]| {
        format!("{name:<0$}  {rate:>1$}  {channels:>2$}  {rates:>3$}", width(0), width(1), width(2), width(3))
    };
    let mut text = Shown::faint(&line(heads)) + "\n";
    for [name, rate, channels, rates] in &rows {
        text.push(line([name, rate, channels, rates]) + "\n");
    }
    text
}
