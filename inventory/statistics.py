"""What the database knows of how full its tables are, renewed after bulk work."""

from django.db import connection, transaction

from inventory.own_models import own_models


def renew() -> None:
    """Once this is committed, let PostgreSQL count its tables again; SQLite plans without.

    Until its own daemon comes round it plans from what stood there before: where that was nothing, it joins
    each row of one table with each of the next.
    """
    if connection.vendor == "postgresql":
        transaction.on_commit(_analyse)


def _analyse() -> None:
    # One that is empty is left as it was counted before: counted empty it is joined row by row ever after.
    filled = [model for model in own_models() if model._default_manager.exists()]
    if not filled:
        return
    tables = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in filled)
    with connection.cursor() as cursor:
        cursor.execute(f"ANALYZE {tables}")
