#!/usr/bin/env python3
"""Tests of xcode-project.py: what it writes is read back by a reader of its own."""

import importlib.util
import plistlib
import re
import tempfile
import tomllib
import unittest
from pathlib import Path

HERE = Path(__file__).resolve().parent
IOS = HERE.parent

spec = importlib.util.spec_from_file_location("xcode_project", HERE / "xcode-project.py")
maker = importlib.util.module_from_spec(spec)
spec.loader.exec_module(maker)


def read_old_style(text):
    """An old-style property list, read by its grammar alone."""
    tokens = re.compile(
        r'\s+|//[^\n]*|/\*.*?\*/|(?P<word>[A-Za-z0-9._/]+)|"(?P<text>(?:[^"\\]|\\.)*)"|(?P<sign>[{}()=;,])',
        re.S)
    stream, at = [], 0
    while at < len(text):
        found = tokens.match(text, at)
        if not found:
            raise ValueError(f"unreadable at {text[at:at + 30]!r}")
        at = found.end()
        if found["sign"]:
            stream.append(("sign", found["sign"]))
        elif found["word"] is not None:
            stream.append(("text", found["word"]))
        elif found["text"] is not None:
            stream.append(("text", re.sub(r"\\(.)", r"\1", found["text"])))
    stream.reverse()

    def take(sign):
        if stream.pop() != ("sign", sign):
            raise ValueError(f"{sign} is missing")

    def value():
        kind, what = stream.pop()
        if kind == "text":
            return what
        if what == "{":
            made = {}
            while stream[-1] != ("sign", "}"):
                kind, key = stream.pop()
                if kind != "text" or key in made:
                    raise ValueError(f"{key} is no key, or is there twice")
                take("=")
                made[key] = value()
                take(";")
            take("}")
            return made
        if what == "(":
            made = []
            while stream[-1] != ("sign", ")"):
                made.append(value())
                take(",")
            take(")")
            return made
        raise ValueError(f"{what} begins nothing")

    read = value()
    if stream:
        raise ValueError("something follows the end")
    return read


class TheProject(unittest.TestCase):
    """The project of the checked-in description."""

    @classmethod
    def setUpClass(cls):
        cls.described = maker.read(IOS / "App/project.toml")
        cls.project = read_old_style(maker.pbxproj(cls.described))
        cls.objects = cls.project["objects"]

    def of(self, isa):
        return [o for o in self.objects.values() if o["isa"] == isa]

    def test_every_reference_leads_somewhere_and_nothing_hangs_loose(self):
        named = re.compile(r"[0-9A-F]{24}")
        used = {self.project["rootObject"]}

        def walk(value):
            if isinstance(value, dict):
                for inner in value.values():
                    walk(inner)
            elif isinstance(value, list):
                for inner in value:
                    walk(inner)
            elif named.fullmatch(value):
                used.add(value)

        for thing in self.objects.values():
            walk(thing)
        self.assertEqual(used, set(self.objects))

    def test_every_swift_file_of_the_app_is_compiled_once(self):
        paths = {
            self.objects[f["fileRef"]]["path"]
            for f in (self.objects[i] for p in self.of("PBXSourcesBuildPhase") for i in p["files"])
        }
        there = {p.relative_to(IOS).as_posix() for p in (IOS / "App").rglob("*.swift")}
        self.assertEqual(paths, there)
        self.assertTrue(there)

    def test_every_file_named_is_there_or_made(self):
        made = {f"App/{language}.lproj/InfoPlist.strings" for language in self.described["texts"]}
        for reference in self.of("PBXFileReference"):
            if reference["sourceTree"] == "SOURCE_ROOT" and reference["path"] not in made:
                self.assertTrue((IOS / reference["path"]).exists(), reference["path"])

    def test_the_products_are_those_of_the_package(self):
        package = (IOS / "Package.swift").read_text(encoding="utf-8")
        for product in self.of("XCSwiftPackageProductDependency"):
            self.assertIn(f'.library(name: "{product["productName"]}"', package)

    def test_the_words_go_into_the_app_as_a_folder(self):
        resources = [self.objects[i] for p in self.of("PBXResourcesBuildPhase") for i in p["files"]]
        folders = [self.objects[r["fileRef"]] for r in resources]
        self.assertIn("../bindings/words", [f.get("path") for f in folders])

    def test_both_configurations_are_there_for_project_and_target(self):
        lists = self.of("XCConfigurationList")
        self.assertEqual(len(lists), 2)
        for one in lists:
            names = [self.objects[i]["name"] for i in one["buildConfigurations"]]
            self.assertEqual(names, ["Debug", "Release"])

    def test_the_same_description_gives_the_same_bytes(self):
        self.assertEqual(maker.pbxproj(self.described), maker.pbxproj(self.described))
        with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
            for folder in (one, other):
                maker.make(self.described, Path(folder))
            for path in sorted(Path(one).rglob("*")):
                if path.is_file():
                    twin = Path(other) / path.relative_to(one)
                    self.assertEqual(path.read_bytes(), twin.read_bytes())


class InfoPlist(unittest.TestCase):
    """What the system asks of an app before it may do anything."""

    @classmethod
    def setUpClass(cls):
        cls.described = maker.read(IOS / "App/project.toml")
        cls.info = plistlib.loads(maker.info(cls.described))

    def test_what_the_sources_use_is_asked_for(self):
        sources = "".join(
            p.read_text(encoding="utf-8")
            for folder in ("Device", "App") for p in (IOS / folder).rglob("*.swift"))
        for used, key in [
            ("CBCentralManager(", "NSBluetoothAlwaysUsageDescription"),
            ("CMMotionManager(", "NSMotionUsageDescription"),
            ("LAContext(", "NSFaceIDUsageDescription"),
            ("AVCaptureSession(", "NSCameraUsageDescription"),
        ]:
            self.assertIn(used, sources)
            self.assertGreater(len(self.info[key]), 10)
        # The names that the system matches letter for letter.
        task = re.search(r'enum BackgroundSending.*?identifier = "([^"]+)"', sources, re.S)[1]
        self.assertEqual(self.info["BGTaskSchedulerPermittedIdentifiers"], [task])
        self.assertIn("bluetooth-central", self.info["UIBackgroundModes"])
        self.assertIn("CBCentralManagerOptionRestoreIdentifierKey", sources)
        self.assertIn("processing", self.info["UIBackgroundModes"])
        self.assertIn("BGProcessingTaskRequest(", sources)

    def test_every_language_has_words_and_texts(self):
        words = {p.stem for p in (IOS.parent / "bindings/words").glob("*.json")}
        self.assertEqual(set(self.info["CFBundleLocalizations"]), words)
        for language in words - {"en"}:
            said = read_old_style("{" + maker.strings(self.described["texts"][language]) + "}")
            self.assertEqual(said, self.described["texts"][language])

    def test_no_exception_of_transport_security_is_made(self):
        self.assertNotIn("NSAppTransportSecurity", self.info)


class TheDescription(unittest.TestCase):
    """What is wrong with a description is said."""

    def setUp(self):
        self.described = tomllib.loads((IOS / "App/project.toml").read_text(encoding="utf-8"))

    def refused(self, wanted):
        with self.assertRaises(maker.Fault) as caught:
            maker.check(self.described)
        self.assertIn(wanted, str(caught.exception))

    def test_what_is_lacking_is_named(self):
        del self.described["identifier"]
        self.refused("lacks identifier")

    def test_what_is_misspelt_is_named(self):
        self.described["langauges"] = ["en"]
        self.refused("langauges")

    def test_a_language_without_texts_is_named(self):
        self.described["languages"].append("nl")
        self.refused("nl")

    def test_a_text_that_one_language_lacks_is_named(self):
        del self.described["texts"]["fr"]["NSMotionUsageDescription"]
        self.refused("texts.fr")

    def test_a_folder_without_sources_is_named(self):
        self.described["sources"] = ["scripts"]
        with self.assertRaises(maker.Fault) as caught:
            maker.build(self.described)
        self.assertIn("scripts", str(caught.exception))


if __name__ == "__main__":
    unittest.main()
