"""Every page of the invented conference: the list from which pages are tested in a browser and photographed.

A new page adds its line: a name for the picture, and the address.
"""

PAGES: dict[str, str] = {
    "home": "/",
    "measure": "/measure/",
    "choose": "/choose/",
    "ready": "/ready/",
    "event": "/events/E-1/",
    "event-without-face-mask-tools": "/events/E-4/",
    "event-what-if": "/events/E-1/?surface=wet-turf&hands=3,%2B2@8min",
    "event-unreadable": "/events/E-1/?hands=many",
    "athlete": "/events/E-1/athletes/T1-52/",
    "evidence": "/choose/evidence/",
    "evidence-lines": "/choose/evidence/values/",
    "evidence-search": "/choose/evidence/values/?q=scoop&quantity=head-trunk",
    "evidence-technique": "/choose/evidence/technique/log_roll_supine_long_board/",
    "evidence-source": "/choose/evidence/source/delrossi-2008/",
    "records": "/records/",
    "records-list": "/records/athletes/",
    "record": "/records/gear/G-1/",
    "record-form": "/records/edit/athletes/T1-52/",
    "record-history": "/records/history/gear/G-1/",
    "venue-plan": "/records/plan/of/V-1/",
    "workbook": "/records/workbook/",
    "gear-labels": "/records/labels/",
    "rehearsals": "/rehearsals/",
    "run": "/rehearsals/RUN-3/",
    "run-debrief": "/rehearsals/RUN-3/debrief/",
    "run-films": "/rehearsals/RUN-3/films/",
    "run-record": "/rehearsals/RUN-3/record/",
    "run-start": "/rehearsals/start/",
    "run-result": "/rehearsals/RUN-3/result/",
    "phones-view": "/rehearsals/look/",
    "life-first": "/life-first/",
    "life-first-page": "/life-first/arrest/",
    "sign-in": "/sign-in/",
    "account": "/account/",
    "set-up": "/set-up/",
    "not-there": "/nowhere/",
}
ADDRESSES = tuple(PAGES.values())
