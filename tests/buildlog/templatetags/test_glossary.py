"""The trade's words: each once, each a sentence, in the order of the alphabet."""

from django.template.loader import render_to_string

from buildlog.templatetags.glossary import WORDS
from buildlog.templatetags.marks import trade_words


def test_every_line_is_a_sentence_that_does_not_shout():
    lines = {key: str(word.line) for key, word in WORDS.items()}

    assert [key for key, line in lines.items() if not (line[0].isupper() and line.endswith("."))] == []
    assert [key for key, line in lines.items() if "!" in line or len(line) > 170] == []


def test_words_come_by_the_alphabet():
    names = [str(word.name) for word in trade_words()]

    assert names == sorted(names, key=str.casefold)
    assert len(names) == len(set(names)) == len(WORDS)


def test_the_page_of_words_tells_each_of_them():
    page = render_to_string("help/words.html", {})

    assert [key for key, word in WORDS.items() if f"<b>{word.name}</b>" not in page] == []
