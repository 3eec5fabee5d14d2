"""Every table and every column of a build is in the archive, or stands on a list with the reason why not."""

from django.apps import apps

from buildlog.archive import build_schema
from buildlog.archive.build_tables import LEFT_OUT_COLUMNS, LEFT_OUT_TABLES, TABLES, columns_of, table_name

OWN = {model for model in apps.get_app_config("buildlog").get_models()}


def test_every_model_is_in_the_archive_or_left_out_for_a_reason():
    named = {model.__name__ for model in TABLES} | set(LEFT_OUT_TABLES)

    assert {model.__name__ for model in OWN} - named == set(), "add it to TABLES in archive/build_tables.py"
    assert {model.__name__ for model in TABLES} & set(LEFT_OUT_TABLES) == set()
    assert all(len(reason) > 10 for reason in [*LEFT_OUT_TABLES.values(), *LEFT_OUT_COLUMNS.values()])


def test_every_column_is_in_the_archive_or_left_out_for_a_reason():
    for model in TABLES:
        told = {column.name for column in columns_of(model)}
        left = {field for name, field in LEFT_OUT_COLUMNS if name == model.__name__}
        every = {field.name for field in model._meta.concrete_fields if not field.primary_key}

        assert told | left == every
        assert not told & left
        assert model._meta.many_to_many == ()


def test_list_of_what_is_left_out_names_nothing_that_is_not_there():
    names = {model.__name__ for model in OWN}

    assert set(LEFT_OUT_TABLES) <= names
    assert {name for name, _ in LEFT_OUT_COLUMNS} <= names


def test_reference_to_a_later_table_may_be_empty_until_that_is_laid_down():
    seen = set()
    for model in TABLES:
        must = {c.names for c in columns_of(model) if c.kind == "row" and not c.may_be_null}
        assert must <= seen, model
        seen.add(table_name(model))


def test_no_archive_names_an_account():
    every = [column for model in TABLES for column in columns_of(model)]

    assert [column for column in every if column.names in {"account", "sharelink", "membership"}] == []


def test_published_schema_is_what_the_tables_are_now():
    changed = "run python -m tests.buildlog.archive.make_fixture; DEVELOPERS.md says when to raise VERSION"

    assert build_schema.PATH.read_text("utf-8") == build_schema.written().decode("utf-8"), changed
