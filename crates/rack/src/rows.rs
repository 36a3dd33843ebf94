//! Items to and from the rows they are kept in.

use crate::item::{Face, RackItem, State};
use crate::rack::hundredths;
use crate::trouble::Stop;
use crate::{Count, StockItem, StockKind, blob, tag};
use rusqlite::{OptionalExtension, Params, Row, Transaction};

/// An item with the number of its row.
#[derive(Debug, Clone)]
pub(crate) struct Kept {
    pub(crate) row: i64,
    /// Its area as the rack counts it.
    pub(crate) area: i64,
    pub(crate) item: RackItem,
}

/// What [`kept`] reads, in its order.
const COLUMNS: &str = "items.id, area, tag, kind, glass, state, outline, grain_deg, scored_face, lot, flaws, place, price, \
     came_from, clear_width, clear_height, holds.plan";

/// Items for which `condition` holds, with what follows it (order, limit).
pub(crate) fn select(transaction: &Transaction<'_>, condition: &str, values: impl Params) -> Result<Vec<Kept>, Stop> {
    let mut found = vec![];
    each(transaction, condition, values, |kept| {
        found.push(kept);
        true
    })?;
    Ok(found)
}

/// Hands over such items one by one until `take` has had enough.
pub(crate) fn each(
    transaction: &Transaction<'_>,
    condition: &str,
    values: impl Params,
    mut take: impl FnMut(Kept) -> bool,
) -> Result<(), Stop> {
    let text = format!("SELECT {COLUMNS} FROM items LEFT JOIN holds ON holds.item = items.id WHERE {condition}");
    let mut statement = transaction.prepare_cached(&text)?;
    let mut rows = statement.query(values)?;
    while let Some(row) = rows.next()? {
        if !take(kept(row)?) {
            break;
        }
    }
    Ok(())
}

/// The item with this tag, ignoring capitals.
pub(crate) fn tagged(transaction: &Transaction<'_>, tag: &str) -> Result<Option<Kept>, Stop> {
    Ok(select(transaction, "tag = ?1", [tag])?.pop())
}

/// The item with this tag, or a refusal that names the nearest.
pub(crate) fn required(transaction: &Transaction<'_>, tag: &str) -> Result<Kept, Stop> {
    if let Some(kept) = tagged(transaction, tag)? {
        return Ok(kept);
    }
    let alike: Option<String> = transaction
        .query_row("SELECT tag FROM items WHERE bare = ?1", [tag::bare(tag)], |row| {
            row.get(0)
        })
        .optional()?;
    let hint = match alike {
        Some(alike) => format!("Did you mean {alike}?"),
        None => "cullet rack list shows the tags; with --all also of glass that is gone.".to_owned(),
    };
    Err(Stop::input(
        &format!("tag {tag}"),
        "no such tag",
        "a tag of this rack",
        &hint,
    ))
}

fn kept(row: &Row<'_>) -> Result<Kept, Stop> {
    let tag: String = row.get(2)?;
    let broken = |what: &str| {
        Stop::input(
            &format!("tag {tag}"),
            &format!("{what} that cannot be read"),
            "what the program writes",
            "Something else changed the file. Use its last good copy.",
        )
    };
    let kind = match row.get_ref(3)?.as_str().unwrap_or_default() {
        "sheet" => StockKind::Sheet,
        "offcut" => StockKind::Offcut,
        _ => return Err(broken("a kind")),
    };
    let state = State::of_word(row.get_ref(5)?.as_str().unwrap_or_default()).ok_or_else(|| broken("a state"))?;
    let outline =
        blob::to_outline(row.get_ref(6)?.as_blob().unwrap_or_default()).ok_or_else(|| broken("an outline"))?;
    let flaws = blob::to_outlines(row.get_ref(10)?.as_blob().unwrap_or_default()).ok_or_else(|| broken("flaws"))?;
    let face = row.get_ref(8)?.as_str_or_null().unwrap_or_default();
    Ok(Kept {
        row: row.get(0)?,
        area: row.get(1)?,
        item: RackItem {
            scored_face: face.and_then(Face::of_word),
            came_from: row.get(13)?,
            state,
            clear: (row.get(14)?, row.get(15)?),
            held_for: row.get(16)?,
            stock: StockItem {
                tag: row.get(2)?,
                glass: row.get(4)?,
                kind,
                outline,
                count: match state {
                    State::ToBuy => Count::ToBuy,
                    _ => Count::OnHand(1),
                },
                place: row.get(11)?,
                lot: row.get(9)?,
                grain_deg: row.get(7)?,
                flaws,
                price: row.get(12)?,
            },
        },
    })
}

/// Enters a new item and returns its row. `stock.tag` must be free.
pub(crate) fn insert(transaction: &Transaction<'_>, item: &RackItem, operation: i64) -> Result<i64, Stop> {
    let stock = &item.stock;
    let text = format!(
        "INSERT INTO items ({DESCRIBED}, tag, bare, kind, state, came_from, entered)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19)"
    );
    let described = described(item);
    let kind = kind_word(stock.kind);
    let named: [&dyn rusqlite::ToSql; 6] = [
        &stock.tag,
        &tag::bare(&stock.tag),
        &kind,
        &item.state.word(),
        &item.came_from,
        &operation,
    ];
    let values = described.iter().map(|value| value as &dyn rusqlite::ToSql).chain(named);
    transaction
        .prepare_cached(&text)?
        .execute(rusqlite::params_from_iter(values))?;
    Ok(transaction.last_insert_rowid())
}

/// Writes what an item is now over what it was; tag, kind and state stay.
pub(crate) fn update(transaction: &Transaction<'_>, row: i64, item: &RackItem) -> Result<(), Stop> {
    let text = format!(
        "UPDATE items SET ({DESCRIBED}, came_from) = (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)
         WHERE id = ?15"
    );
    let described = described(item);
    let values = described.iter().map(|value| value as &dyn rusqlite::ToSql);
    let last: [&dyn rusqlite::ToSql; 2] = [&item.came_from, &row];
    transaction.execute(&text, rusqlite::params_from_iter(values.chain(last)))?;
    Ok(())
}

const DESCRIBED: &str = "glass, outline, width, height, area, clear_width, clear_height, grain_deg, scored_face, lot, \
     flaws, place, price";

/// Values of [`DESCRIBED`].
fn described(item: &RackItem) -> [rusqlite::types::Value; 13] {
    let stock = &item.stock;
    let bounds = stock.outline.bounds();
    let (clear_width, clear_height) = item.clear;
    [
        stock.glass.clone().into(),
        blob::of_outline(&stock.outline).into(),
        bounds.width().into(),
        bounds.height().into(),
        hundredths(stock.outline.area()).into(),
        clear_width.into(),
        clear_height.into(),
        stock.grain_deg.into(),
        item.scored_face.map(|face| face.word().to_owned()).into(),
        stock.lot.clone().into(),
        blob::of_outlines(&stock.flaws).into(),
        stock.place.clone().into(),
        stock.price.into(),
    ]
}

pub(crate) fn kind_word(kind: StockKind) -> &'static str {
    match kind {
        StockKind::Sheet => "sheet",
        StockKind::Offcut => "offcut",
    }
}

/// Moves an item on in its life.
pub(crate) fn set_state(transaction: &Transaction<'_>, row: i64, state: State) -> Result<(), Stop> {
    transaction
        .prepare_cached("UPDATE items SET state = ?2 WHERE id = ?1")?
        .execute((row, state.word()))?;
    Ok(())
}
