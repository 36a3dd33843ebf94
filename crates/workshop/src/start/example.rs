//! A piece list and a stock list to fill in.

use super::{Content, LIST, text};
use cullet_job::{Shop, Units};

/// Comments that a spreadsheet leaves alone: no separators, no quotes.
const NOTES: &str = "# Piece list: a line for each kind of piece. Lines that begin with # are skipped.
# The pieces here are examples. Put in your own: finished sizes - what goes into the came.
# Shapes and their sizes (an empty shape is a rectangle):
#   rectangle and ellipse: width and height   circle: diameter   half round: width   quarter circle: radius
#   round arch: width and height   segmental arch or pointed arch: width and height and rise of the curve
#   diamond: width and height - or side and angle at the top   polygon: sides and side - or sides and diameter
#   triangle: width and height and perhaps offset of the tip - or width and left and right
#   trapezium: width and top and height and perhaps offset
#   clipped rectangle: width and height and clip   rounded rectangle: width and height and radius   both perhaps corners
# Add a column for each size that you need. More columns: panel and grain (upright or across) and bevel and nose and spares.
";

/// A list of three pieces, of the shop's first glass where there is a shop file.
pub(super) fn example(shop: Option<&Shop>) -> Content {
    let units = shop.map_or(Units::Millimetres, Shop::units);
    let of_shop = shop.and_then(|shop| shop.glass_codes().first().map(|code| (*code).to_owned()));
    let code = of_shop.clone().unwrap_or_else(|| "CLEAR".into());
    let (sizes, thickness) = match units {
        Units::Millimetres => ([["180", "300", ""], ["300", "620", ""], ["", "", "80"]], "3"),
        Units::Inches => ([["7", "12", ""], ["12", "24 1/2", ""], ["", "", "3 1/8"]], "1/8"),
    };
    let shapes = [("rectangle", "4"), ("round arch", "1"), ("circle", "6")];
    let names = "number,glass,shape,width,height,diameter,quantity,units";
    let mut list = match of_shop {
        Some(_) => format!("{NOTES}{names}\n"),
        None => {
            let more = "# thickness and price and glass_grain (none or two-ways or one-way) say what the glass is: once for each glass.\n";
            format!("{NOTES}{more}{names},thickness,price,glass_grain\n")
        }
    };
    for (k, ([width, height, diameter], (shape, quantity))) in sizes.into_iter().zip(shapes).enumerate() {
        list += &format!(
            "{},{code},{shape},{width},{height},{diameter},{quantity},{}",
            k + 1,
            units.code()
        );
        list += match (&of_shop, k) {
            (Some(_), _) => "\n",
            (None, 0) => "|20,none\n",
            (None, _) => ",,,\n",
        }
        .replace('|', &format!(",{thickness},"))
        .as_str();
    }
    Content {
        job: (LIST, list),
        stock: format!(
            "{}kind,tag,glass,units,width,height,count,place\n{}",
            text::STOCK_NOTES,
            text::sheet(&code, units, 0.0)
        ),
        notes: vec![],
    }
}
