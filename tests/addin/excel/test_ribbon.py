"""The tab of a live book: sound by the rules of its format, and its macro code runs in an interpreter."""

import re
from xml.etree import ElementTree

import pytest

from orderbook.actions import ACTIONS
from orderbook.addin.excel.macro_text import LONGEST_LINE
from orderbook.addin.excel.project import standard_modules
from orderbook.addin.excel.ribbon import LEFT_OUT, SPACE, fields, menu_module, ribbon
from orderbook.book.excel_menu import decoded

ODD = 'a | b & "c" \' ¾ = 1; 时'
TREE = ElementTree.fromstring(ribbon())
CONTROLS = [part for part in TREE.iter() if "id" in part.attrib]
# by MS-CUSTOMUI2: what each control may carry here, and which callback with which arguments
ALLOWED = {
    "tab": {"id", "label", "insertAfterMso", "keytip"},
    "group": {"id", "label"},
    "button": {"id", "label", "screentip", "supertip", "size", "imageMso", "onAction"},
    "dropDown": {"id", "label", "screentip", "supertip", "onAction"},
    "comboBox": {"id", "label", "screentip", "supertip", "onChange"},
    "checkBox": {"id", "label", "screentip", "supertip", "onAction", "getPressed"},
    "editBox": {"id", "label", "screentip", "supertip", "onChange", "sizeString"},
    "item": {"id", "label"},
}
SIGNATURES = {
    ("button", "onAction"): "control As IRibbonControl",
    ("dropDown", "onAction"): "control As IRibbonControl, chosen As String, place As Integer",
    ("comboBox", "onChange"): "control As IRibbonControl, typed As String",
    ("editBox", "onChange"): "control As IRibbonControl, typed As String",
    ("checkBox", "onAction"): "control As IRibbonControl, pressed As Boolean",
    ("checkBox", "getPressed"): "control As IRibbonControl, ByRef returned",
}


def kind(part):
    assert part.tag.startswith(f"{{{SPACE}}}")
    return part.tag.partition("}")[2]


def test_names_are_single_and_texts_within_bounds():
    names = [part.attrib["id"] for part in CONTROLS]
    assert len({name.lower() for name in names}) == len(names)
    for part in CONTROLS:
        assert re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", part.attrib["id"])
        assert set(part.attrib) == ALLOWED[kind(part)], part.attrib["id"]
        assert all(1 <= len(text) <= 1024 for text in part.attrib.values())
        if kind(part) == "item":
            assert part.attrib["label"]
    (tab,) = TREE.iter(f"{{{SPACE}}}tab")
    assert 1 <= len(tab.attrib["keytip"]) <= 3


def test_every_callback_stands_in_the_macro_code_with_the_arguments_of_its_control():
    code = menu_module()
    for part in CONTROLS:
        for callback in ("onAction", "onChange", "getPressed"):
            if name := part.attrib.get(callback):
                assert f"Public Sub {name}({SIGNATURES[kind(part), callback]})" in code


def test_each_action_is_a_button_and_each_thing_asked_a_field():
    buttons = {part.attrib["id"] for part in CONTROLS if kind(part) == "button"}
    assert buttons == set(ACTIONS) - set(LEFT_OUT)
    asked = {f"{key}_{q.key}" for key in buttons for q in fields(ACTIONS[key])}
    shown = {part.attrib["id"] for part in CONTROLS if kind(part) in ("dropDown", "comboBox", "checkBox", "editBox")}
    assert shown == asked


def test_the_code_fits_its_editor():
    code = menu_module()
    assert max(map(len, code.splitlines())) <= LONGEST_LINE
    assert code.encode("cp1252").decode("cp1252") == code
    taken = re.findall(r"(?m)^(?:Public |Private )?(?:Function|Sub) (\w+)", "\n".join(
        text for name, text in standard_modules().items() if name != "orderbook_menu"))  # fmt: skip
    own = re.findall(r"(?m)^(?:Public |Private )(?:Function|Sub) (\w+)", code)
    assert not {name.lower() for name in own} & {name.lower() for name in taken}


@pytest.fixture
def vba():
    """An interpreter of the language with the callbacks; `RunPython` keeps what it is told."""
    from pyopenvba.interpreter import HostBridge, Interpreter, VBAObject, method
    from pyopenvba.interpreter._runtime import UNRESOLVED

    class Application(VBAObject):
        vba_type_name = "Application"

        @method
        def GetOpenFilename(self):  # noqa: N802
            return "C:\\my lists\\¾.csv"

        @method
        def GetSaveAsFilename(self):  # noqa: N802
            return False

    class Bridge(HostBridge):
        def global_object(self, name):
            return Application() if name.lower() == "application" else UNRESOLVED

    code = re.sub(r"(?m)^Attribute .*\n", "", menu_module())
    head, copied = code.split("Private Function CopyOfBook() As String")
    told = (
        "Public said As String\nPublic Function RunPython(PythonCommand As String)\n    said = PythonCommand\n"
        "End Function\nPublic Function Told() As String\n    Told = said\nEnd Function\n"
    )
    running = Interpreter(host=Bridge())
    running.add_module(told, name="xlwings")
    assert "ThisWorkbook.SaveCopyAs CopyOfBook" in copied
    copy = 'Private Function CopyOfBook() As String\n    CopyOfBook = "/tmp/copy.xlsm"\nEnd Function\n'
    running.add_module(head + copy, name="orderbook_menu")
    return running


def _control(name):
    from pyopenvba.interpreter import VBAObject, method

    class Control(VBAObject):
        vba_type_name = "IRibbonControl"

        @method
        def ID(self):  # noqa: N802
            return name

    return Control()


def _told(vba):
    said = vba.run("Told", [])
    assert re.fullmatch(r"[\w .;(),='\"]*", said), "nothing typed may reach the command line as it is"
    return said, {key: decoded(digits) for key, digits in re.findall(r"(\w+)='([0-9A-F]*)'", said)}


def test_what_was_chosen_and_typed_arrives_letter_by_letter(vba):
    verdicts = ACTIONS["trial"].questions[1].choices
    at = verdicts.index("ran well")
    vba.run("OrderbookChosen", [_control("trial_verdict"), f"trial_verdict_{at}", at])
    vba.run("OrderbookTyped", [_control("trial_clicks"), "7"])
    vba.run("OrderbookTyped", [_control("trial_note"), ODD])
    vba.run("OrderbookRun", [_control("trial")])
    said, given = _told(vba)
    assert said.startswith("from orderbook.book.excel_menu import run; run('trial', ")
    assert {key: text for key, text in given.items() if text} == {
        "copy": "/tmp/copy.xlsm", "verdict": "ran well", "clicks": "7", "note": ODD,
    }  # fmt: skip
    compile(said, "said", "exec")


def test_a_tick_and_a_file_arrive(vba):
    vba.run("OrderbookTicked", [_control("record_costs"), False])
    vba.run("OrderbookRun", [_control("record")])
    assert _told(vba)[1]["costs"] == "no"
    vba.run("OrderbookRun", [_control("catalogue")])
    assert _told(vba)[1]["lists"] == "C:\\my lists\\¾.csv"


def test_a_file_that_is_not_chosen_ends_it(vba):
    vba.run("OrderbookRun", [_control("new")])
    assert vba.run("Told", []) == ""


@pytest.mark.parametrize("key", [key for key in ACTIONS if key not in LEFT_OUT and key != "new"])
def test_every_button_calls_python(vba, key):
    vba.run("OrderbookRun", [_control(key)])
    said, _ = _told(vba)
    assert f"run('{key}'" in said
    compile(said, "said", "exec")
