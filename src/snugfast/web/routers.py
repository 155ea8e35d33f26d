"""Which rooms of pages there are: each subject keeps its pages, forms and templates together."""

from snugfast.web import health
from snugfast.web.cars import change, places
from snugfast.web.cars import page as cars
from snugfast.web.chassis import radio, setup, steering
from snugfast.web.dates import page as dates
from snugfast.web.door import page as door
from snugfast.web.door import phones
from snugfast.web.field import page as field
from snugfast.web.fluids import page as fluids
from snugfast.web.gearing import answers, fit
from snugfast.web.gearing import page as gearing
from snugfast.web.home import more
from snugfast.web.home import page as home
from snugfast.web.hunt import page as hunt
from snugfast.web.journal import kept
from snugfast.web.journal import page as journal
from snugfast.web.labels import page as labels
from snugfast.web.leads import motor, rail, wires
from snugfast.web.mechanics import bearings, drag, joints, kit, mesh
from snugfast.web.money import page as money
from snugfast.web.outing import broke, catch_up, runs
from snugfast.web.outing import page as outing
from snugfast.web.packs import charge, chargers, log, questions
from snugfast.web.packs import page as packs
from snugfast.web.paper import page as paper
from snugfast.web.settings import first_start
from snugfast.web.settings import page as settings
from snugfast.web.sheet import one_off
from snugfast.web.sheet import page as sheet
from snugfast.web.sources import page as sources
from snugfast.web.spares import box, lists

ROUTERS = (
    health.pages,
    door.pages,
    dates.pages,
    phones.pages,
    first_start.pages,
    box.pages,
    lists.pages,
    money.pages,
    home.pages,
    more.pages,
    cars.pages,
    change.pages,
    places.pages,
    hunt.pages,
    one_off.pages,
    joints.pages,
    mesh.pages,
    gearing.pages,
    answers.pages,
    fit.pages,
    drag.pages,
    steering.pages,
    setup.pages,
    radio.pages,
    bearings.pages,
    kit.pages,
    rail.pages,
    wires.pages,
    fluids.pages,
    motor.pages,
    questions.pages,
    packs.pages,
    charge.pages,
    log.pages,
    chargers.pages,
    outing.pages,
    broke.pages,
    runs.pages,
    catch_up.pages,
    sheet.pages,
    paper.pages,
    field.pages,
    labels.pages,
    journal.pages,
    settings.pages,
    sources.pages,
    kept.pages,
)
