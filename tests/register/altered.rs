//! A register altered as somebody would who has the database's own tools: the triggers are taken away, and put back.

use rusqlite::Connection;
use std::path::Path;

/// Runs a statement on a register's file, past its triggers.
pub fn altered(path: &Path, statement: &str) {
    let db = Connection::open(path).unwrap();
    let mut select = db.prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").unwrap();
    let triggers = select.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))).unwrap();
    let triggers: Vec<_> = triggers.map(Result::unwrap).collect();
    triggers.iter().for_each(|(name, _)| db.execute_batch(&format!("DROP TRIGGER {name}")).unwrap());
    db.execute_batch(statement).unwrap();
    triggers.iter().for_each(|(_, sql)| db.execute_batch(sql).unwrap());
}
