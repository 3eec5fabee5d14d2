"""What a backup, a verification or a restore says when it cannot go on."""


class ArchiveTrouble(Exception):
    """One sentence for a person; nothing was changed."""


class Damaged(ArchiveTrouble):
    """The file is not what was written: bytes differ, are missing, or were never a backup."""


class NewerVersion(ArchiveTrouble):
    """The backup holds tables that this version does not know."""
