//! Plots as SVG.

use plotters::prelude::*;

/// A line of a plot.
pub struct Line {
    /// Its name in the key.
    pub name: String,
    /// Its points.
    pub points: Vec<(f64, f64)>,
}

/// What the axes say.
pub struct Axes {
    /// Below.
    pub across: &'static str,
    /// At the side.
    pub up: &'static str,
    /// From where to where below.
    pub x: (f64, f64),
    /// From where to where at the side.
    pub y: (f64, f64),
}

/// Ink for lines: dark enough on white, and each line has its own dashes besides.
const INK: [RGBColor; 4] = [
    RGBColor(11, 74, 99),
    RGBColor(109, 42, 0),
    RGBColor(22, 32, 27),
    RGBColor(90, 30, 110),
];

/// Draws lines; the text of an `svg` element.
///
/// # Errors
/// What the drawing library says, in words.
pub fn lines(axes: &Axes, all: &[Line]) -> Result<String, String> {
    let mut out = String::new();
    draw(&mut out, axes, all).map_err(|e| e.to_string())?;
    Ok(out)
}

fn draw(out: &mut String, axes: &Axes, all: &[Line]) -> Result<(), Box<dyn std::error::Error>> {
    let root = SVGBackend::with_string(out, (760, 380)).into_drawing_area();
    root.fill(&WHITE)?;
    let mut chart = ChartBuilder::on(&root)
        .margin(14)
        .x_label_area_size(46)
        .y_label_area_size(60)
        .build_cartesian_2d(axes.x.0..axes.x.1, axes.y.0..axes.y.1)?;
    chart
        .configure_mesh()
        .x_desc(axes.across)
        .y_desc(axes.up)
        .light_line_style(WHITE)
        .draw()?;
    for (i, line) in all.iter().enumerate() {
        let ink = INK[i % INK.len()].stroke_width(2);
        let points = line.points.iter().copied();
        let key = move |(x, y)| PathElement::new(vec![(x, y), (x + 18, y)], ink);
        let drawn = if i == 0 {
            chart.draw_series(LineSeries::new(points, ink))?
        } else {
            let dash = 3 + 4 * (i % INK.len()) as i32;
            chart.draw_series(DashedLineSeries::new(points, dash, 4, ink))?
        };
        drawn.label(line.name.clone()).legend(key);
    }
    chart
        .configure_series_labels()
        .background_style(WHITE)
        .border_style(BLACK)
        .draw()?;
    root.present()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plot_is_svg_with_its_lines_and_its_key() {
        let axes = Axes {
            across: "height, cm",
            up: "share",
            x: (33.0, 37.0),
            y: (0.0, 1.0),
        };
        let line = |name: &str| Line {
            name: name.into(),
            points: (0..20)
                .map(|i| (33.0 + 0.2 * f64::from(i), 0.05 * f64::from(i)))
                .collect(),
        };
        let svg = lines(&axes, &[line("Small"), line("A < B & C")]).expect("drawn");
        assert!(
            svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"),
            "{svg}"
        );
        assert!(svg.contains("<polyline") && svg.contains("height, cm") && svg.contains("Small"));
        assert!(
            svg.contains("A &lt; B &amp; C"),
            "what stands in a name is text"
        );
        // The pages' policy lets no style attribute nor script through.
        assert!(!svg.contains("style=") && !svg.contains("<script"));
    }
}
