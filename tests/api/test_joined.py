"""The first screen's modules as one script: it does what they do, and nothing is there twice."""

import subprocess
from pathlib import Path

import pytest

from server.api.joined import first_modules, join_first
from server.api.pages import read_page
from server.places import web_folder
from tests.needs import program

# Every way in which one module takes from another, or gives.
PLAIN = {
    "app.js": """import { told, tell as say } from './state/told.js';
import * as all from './state/told.js';
import { words } from './words/words.js';
import './state/mark.js';
const own = 'app';
say(own, all.told === told, words.hello);
const after = import('./late.js').then(({ late }) => say(late(), ...told));""",
    "state/told.js": """export const told = [];
export function tell(...what) { console.log(...what.map(String)); told.push(what.length); }
export class Kept { static of = new URL('../x.css', import.meta.url).pathname.split('/').at(-1); }
export async function soon() { return (await import('../late.js')).late; }
export const { length } = 'abc';""",
    "state/mark.js": "import { told } from './told.js';\ntold.push('mark');",
    "words/words.js": """import english from './en.js';
const name = 'fr';
const other = await import(`./${name}.js`);
export const { words, own } = { words: { ...english, ...other.default }, own: 'words' };""",
    "words/en.js": "\nexport default {\n  hello: 'hello',\n};",
    "words/fr.js": "export default { hello: 'salut' };",
    "late.js": """import {
  told, Kept,
  soon
} from './state/told.js';
import english from './words/en.js';
export const late = () => `${told.length} ${Kept.of} ${typeof soon} ${english.hello}`;""",
    "alone.js": "export const alone = 1;",
}
FIRST = ["state/told.js", "words/en.js", "words/words.js", "state/mark.js", "app.js"]


def run(folder: Path, texts: dict[str, str]) -> str:
    """What Node prints for these modules."""
    for name, text in {**texts, "package.json": '{"type": "module"}'}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    command = [program("node"), str(folder / "app.js")]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout


def test_it_does_what_the_modules_do(tmp_path: Path) -> None:
    # Judged by Node, which knows nothing of joining.
    plain = run(tmp_path / "plain", PLAIN)
    assert plain == "app true salut\n2 x.css function hello mark 3\n"
    assert run(tmp_path / "joined", PLAIN | join_first(PLAIN)) == plain


def test_a_module_that_was_joined_is_still_where_it_was_and_the_same_one(tmp_path: Path) -> None:
    asks = """
void after.then(async () => {
  const [one, other] = [await import('./state/told.js'), await import('./words/en.js')];
  say(one.told === told, other.default.hello);
});"""
    texts = PLAIN | {"app.js": PLAIN["app.js"] + asks}
    assert run(tmp_path, texts | join_first(texts)).endswith("true hello\n")


def test_each_comes_after_all_that_it_imports_and_what_comes_later_is_no_part_of_it() -> None:
    assert first_modules(PLAIN) == FIRST
    joined = join_first(PLAIN)
    assert "alone.js" not in joined
    assert "words/fr.js" not in joined
    assert joined["late.js"].count("\n") == PLAIN["late.js"].count("\n"), "lines keep their numbers"


def test_modules_that_import_each_other_are_refused() -> None:
    texts = {"app.js": "import './a.js';", "a.js": "import './b.js';", "b.js": "import './a.js';"}
    with pytest.raises(ValueError, match=r"import each other: app\.js, a\.js, b\.js"):
        join_first(texts)


@pytest.mark.parametrize("how", ["export { x };", "export let x = 1;", "export * from './y.js';"])
def test_an_export_that_would_be_lost_is_refused(how: str) -> None:
    with pytest.raises(ValueError, match=r"a\.js cannot be joined"):
        join_first({"app.js": "import './a.js';", "a.js": how})


def test_on_our_own_page_every_first_module_is_in_one_script() -> None:
    page = read_page(web_folder())
    texts = {p.relative_to(web_folder()).as_posix(): p.read_text("utf-8") for p in web_folder().rglob("*.js")}
    script = page.files["app.js"].plain.decode()
    first = first_modules(texts)
    assert len(first) > 15
    for name in first[:-1]:
        assert f"\n// {name}\n" in script
        assert page.files[name].plain.count(b"\n") == 0, f"{name} is there twice"
