//! From loose pieces to a figure: joined, and refused where they do not close.

use crate::fault::{OutlineFault, quoted};
use crate::figure::{Figure, ReadOptions, place};
use crate::join::{Chain, Joined, join};

/// Joins `chains` [m] and sorts what closes; says what was done on the way.
pub(crate) fn assemble(chains: Vec<Chain>, options: &ReadOptions) -> Result<Figure, Vec<OutlineFault>> {
    let joined = join(chains, options.join);
    refuse_loose(&joined, options)?;
    let (largest_gap, gaps, doubled, dots) = (joined.largest_gap, joined.gaps, joined.doubled, joined.dots);
    let mut figure = Figure::of(joined.closed, options.fit)?;
    if gaps > 0 {
        figure.said.push(format!(
            "Loose ends were joined over {gaps} {}, the widest {:.4} mm.",
            if gaps == 1 { "gap" } else { "gaps" },
            largest_gap * 1e3
        ));
    }
    if doubled > 0 {
        figure.cautions.push(format!(
            "{doubled} lines are drawn twice, one on the other; each was taken once."
        ));
    }
    if dots > 0 {
        figure.said.push(format!(
            "{dots} pieces shorter than {:.3} mm were left out.",
            options.join * 1e3
        ));
    }
    Ok(figure)
}

/// An outline with a gap in it is no outline, and what is left might look like one: it is refused, with its places.
fn refuse_loose(joined: &Joined, options: &ReadOptions) -> Result<(), Vec<OutlineFault>> {
    let mut faults = Vec::new();
    for (at, line) in &joined.forks {
        let what = format!(
            "three or more line ends meet at {}, so it is not clear which way the outline goes",
            place(*at)
        );
        let mend = "delete the line that does not belong to the outline, or choose its layer";
        faults.push(OutlineFault::new("fork", what, mend).on_line(*line));
    }
    for open in &joined.open {
        let [a, b] = open.ends;
        let layer = quoted(&open.layer);
        let what = format!(
            "a line on layer {layer} from {} to {} does not close",
            place(a),
            place(b)
        );
        let mend = if open.gap < 100.0 * options.join.max(10e-6) {
            format!(
                "close the gap of {:.4} mm at {}, or allow gaps of that width (now {:.3} mm)",
                open.gap * 1e3,
                place(open.at),
                options.join * 1e3
            )
        } else {
            "close it in the drawing, or choose the layer that holds the outline".to_owned()
        };
        faults.push(OutlineFault::new("open-line", what, mend).on_line(open.line));
    }
    let more = faults.len().saturating_sub(12);
    faults.truncate(12);
    if more > 0
        && let Some(last) = faults.last_mut()
    {
        last.what += &format!(" ({more} more like this)");
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
