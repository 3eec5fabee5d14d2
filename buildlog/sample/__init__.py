"""The sample hull: an invented brig with an invented history, loaded through the actions that the pages use.

Everything here is made up: the vessel, the people, the club, the figures. ``hull`` is the plan, ``story`` the
sessions in order, ``album`` their photographs, ``data`` the readings;
``darkroom`` is where the photographs are made.
"""
