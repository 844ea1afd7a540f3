"""The program's own settings, with a key that needs no folder."""

from onthree.store.settings import *  # noqa: F403

SECRET_KEY = "for tests only"
