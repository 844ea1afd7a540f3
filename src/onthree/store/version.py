"""Whether anything was written since: one question to the store, however much it holds."""

from functools import cache

from django.db import connection

from onthree.store.rows import EVENT_LISTS, TABLE_OF


def store_version() -> tuple[object, ...]:
    """Last number and time of every history table. Every writing adds a row of history, so equal versions mean equal
    records.
    """
    with connection.cursor() as cursor:
        cursor.execute(_question(connection.vendor))
        return tuple(cursor.fetchone())


@cache
def _question(vendor: str) -> str:
    tables = [*TABLE_OF.values(), *(a_list.table for a_list in EVENT_LISTS)]
    names = [connection.ops.quote_name(table.history.model._meta.db_table) for table in tables]  # type: ignore[attr-defined]
    lasts = [f"(SELECT MAX({column}) FROM {name})" for name in names for column in ("history_id", "history_date")]
    return f"SELECT {', '.join(lasts)}"  # names of tables of our own, nothing typed
