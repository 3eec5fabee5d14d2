"""Two plain words that stand on a cut card and on the page: where they differ, the card is old."""

import hashlib

_FIRST = """
amber ample ashen autumn beige blue bold brass brave bright brisk bronze brown busy calm careful cedar cheerful
chilly civil clean clear clever cloudy coastal cool copper coral cosy crisp curly dappled deep distant dry dusky
eager early earnest eastern easy even fair famous fast fine firm fleet fond fresh frosty gentle giant glad glossy
golden grand grassy green grey hardy hasty hazel heavy hidden high hollow honest humble ivory jolly keen kind large
lasting late leafy level light lively lonely long loyal lucky lunar mellow merry mild misty modest mossy narrow neat
nimble noble northern oaken olden open orange pale patient plain pleasant polished proud purple quick quiet rapid
ready red ripe rosy round ruddy rustic sandy scarlet shady sharp silent silver simple slender slow small smooth snowy
""".split()

_SECOND = """
acorn anchor apple arrow badger barley barrel basin basket bathtub beacon beaver beetle bell bench berry blanket
bottle bramble bridge bucket button cabin candle canvas carrot castle cherry chimney clover cobbler compass cottage
cricket crow curlew daisy dolphin donkey drummer falcon feather fern ferry fiddle finch fisher forest fountain fox
garden gate goose granite hammer harbour harvest hedge heron hillock honey horse island jacket jug kettle kitten
ladder lantern lark lemon lichen linen lizard lobster magpie maple market meadow melon mill mirror mitten morning
needle nest nettle oar onion orchard otter owl oyster paddle pear pebble pepper pigeon pillow plum pocket pony poplar
porridge puddle quill rabbit raven ribbon river robin rocket saddle salmon sparrow spoon stable swallow swan table
teapot thistle thrush timber trout tulip turnip valley violet waggon walnut whistle willow window wren
""".split()


def check_words(card_text: str) -> str:
    """Return the two words of everything a card tells; the same text always has the same words."""
    digest = hashlib.sha256(card_text.encode()).digest()
    first = int.from_bytes(digest[:8]) % len(_FIRST)
    second = int.from_bytes(digest[8:16]) % len(_SECOND)
    return f"{_FIRST[first]} {_SECOND[second]}"
