"""The settings of a version after this one."""

from buildlog.settings import *  # noqa: F403

MIGRATION_MODULES = {"buildlog": "tests.buildlog.archive.newer_migrations"}
