"""Our own tables, of whichever app: what is counted, copied, locked or taken out by table goes over these."""

from functools import cache

from django.apps import apps
from django.conf import settings
from django.db.models import Model


@cache
def own_models() -> tuple[type[Model], ...]:
    """Every table of `OWN_APPS` that is part of a workshop; people, groups and sessions are Django's."""
    models = (model for app in settings.OWN_APPS for model in apps.get_app_config(app).get_models())
    return tuple(model for model in models if not model._meta.proxy and not getattr(model, "passing", False))
