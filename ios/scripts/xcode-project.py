#!/usr/bin/env python3
"""Makes Standsquare.xcodeproj, Info.plist and the usage texts from App/project.toml.

    ios/scripts/xcode-project.py [FOLDER]      into ios/ when FOLDER is not given

The same description gives the same files, byte for byte. Python 3.11 or newer, nothing else.
"""

import hashlib
import plistlib
import sys
import tomllib
from pathlib import Path

IOS = Path(__file__).resolve().parent.parent

# Every key that the description may have: a misspelt one is an error, not silently nothing.
KNOWN = {
    "name", "identifier", "version", "deployment", "swift", "devices", "languages",
    "sources", "resources", "products", "info", "texts",
}


class Fault(Exception):
    """The description cannot be used; the text says what to do."""


def read(path):
    """The description, checked."""
    try:
        described = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise Fault(f"{path.name} is not TOML: {error}") from error
    check(described)
    return described


def check(described):
    """Raises Fault for what is lacking, unknown or contradicts itself."""
    lacking = sorted(KNOWN - described.keys())
    if lacking:
        raise Fault(f"the description lacks {', '.join(lacking)}")
    unknown = sorted(described.keys() - KNOWN)
    if unknown:
        raise Fault(f"the description has {', '.join(unknown)}, which means nothing: is it misspelt?")
    usage = {key for key in described["info"] if key.endswith("UsageDescription")}
    # English stands in Info.plist itself, every other language beside it.
    others = set(described["languages"]) - {"en"}
    if set(described["texts"]) != others:
        raise Fault(f"texts must be there for {sorted(others)}, not for {sorted(described['texts'])}")
    for language, texts in described["texts"].items():
        if set(texts) != usage:
            raise Fault(f"texts.{language} must say {sorted(usage)}, not {sorted(texts)}")


class Project:
    """An Xcode project as its objects, by id."""

    def __init__(self):
        self.objects = {}

    def add(self, isa, what, **fields):
        """One more object. Its id comes of what it is, so that it stays the same."""
        name = hashlib.sha256(f"{isa} {what}".encode()).hexdigest()[:24].upper()
        if name in self.objects:
            raise Fault(f"{what} is there twice")
        self.objects[name] = {"isa": isa, **fields}
        return name


def files(folders, ending):
    """The files of these folders of ios/, in order."""
    found = []
    for folder in folders:
        here = sorted((IOS / folder).rglob(f"*{ending}"))
        if not here:
            raise Fault(f"there is no {ending} file in {folder}")
        found += here
    return found


def settings(described):
    """The build settings of the app."""
    return {
        "PRODUCT_NAME": described["name"],
        "PRODUCT_BUNDLE_IDENTIFIER": described["identifier"],
        "MARKETING_VERSION": described["version"],
        "CURRENT_PROJECT_VERSION": "1",
        "INFOPLIST_FILE": "App/Info.plist",
        "GENERATE_INFOPLIST_FILE": "NO",
        "IPHONEOS_DEPLOYMENT_TARGET": described["deployment"],
        "SDKROOT": "iphoneos",
        "SWIFT_VERSION": described["swift"],
        "SWIFT_STRICT_CONCURRENCY": "complete",
        "TARGETED_DEVICE_FAMILY": described["devices"],
        "CODE_SIGN_STYLE": "Automatic",
        # Who signs is not in git: xcodebuild … DEVELOPMENT_TEAM=…
        "DEVELOPMENT_TEAM": "$(STANDSQUARE_TEAM)",
        "ENABLE_USER_SCRIPT_SANDBOXING": "YES",
    }


def configurations(project, what, shared):
    """Debug and Release, with the same settings but for optimisation."""
    made = []
    for name, own in [
        ("Debug", {"SWIFT_OPTIMIZATION_LEVEL": "-Onone", "ONLY_ACTIVE_ARCH": "YES"}),
        ("Release", {"SWIFT_OPTIMIZATION_LEVEL": "-O", "VALIDATE_PRODUCT": "YES"}),
    ]:
        made.append(project.add(
            "XCBuildConfiguration", f"{what} {name}", name=name, buildSettings={**shared, **own}))
    return project.add(
        "XCConfigurationList", what, buildConfigurations=made,
        defaultConfigurationIsVisible="0", defaultConfigurationName="Release")


def build(described):
    """The project's objects, and the id of the first."""
    project = Project()
    kinds = {".swift": "sourcecode.swift", ".json": "text.json", ".strings": "text.plist.strings"}

    def reference(path, tree="SOURCE_ROOT"):
        return project.add(
            "PBXFileReference", path, path=path, sourceTree=tree,
            lastKnownFileType=kinds.get(Path(path).suffix, "folder"))

    def in_phase(what, ref):
        return project.add("PBXBuildFile", what, fileRef=ref)

    swift = [p.relative_to(IOS).as_posix() for p in files(described["sources"], ".swift")]
    sources = {path: reference(path) for path in swift}
    # A folder reference keeps its name in the app: the words lie in `words`.
    resources = {path: reference(path) for path in described["resources"]}
    usage = {
        language: project.add(
            "PBXFileReference", f"InfoPlist {language}", name=language,
            path=f"App/{language}.lproj/InfoPlist.strings", sourceTree="SOURCE_ROOT",
            lastKnownFileType="text.plist.strings")
        for language in sorted(described["texts"])
    }
    texts = project.add(
        "PBXVariantGroup", "InfoPlist.strings", name="InfoPlist.strings",
        children=list(usage.values()), sourceTree="<group>")
    app = project.add(
        "PBXFileReference", "the app", path=f"{described['name']}.app",
        sourceTree="BUILT_PRODUCTS_DIR", explicitFileType="wrapper.application",
        includeInIndex="0")
    products = project.add("PBXGroup", "Products", name="Products", children=[app], sourceTree="<group>")
    group = project.add(
        "PBXGroup", "all",
        children=[*sources.values(), *resources.values(), texts, products], sourceTree="<group>")
    package = project.add("XCLocalSwiftPackageReference", "the package", relativePath=".")
    linked = {
        name: project.add(
            "XCSwiftPackageProductDependency", name, package=package, productName=name)
        for name in described["products"]
    }
    phases = [
        project.add(
            "PBXSourcesBuildPhase", "sources", buildActionMask="2147483647",
            files=[in_phase(path, ref) for path, ref in sources.items()],
            runOnlyForDeploymentPostprocessing="0"),
        project.add(
            "PBXFrameworksBuildPhase", "frameworks", buildActionMask="2147483647",
            files=[
                project.add("PBXBuildFile", f"linked {name}", productRef=ref)
                for name, ref in linked.items()
            ],
            runOnlyForDeploymentPostprocessing="0"),
        project.add(
            "PBXResourcesBuildPhase", "resources", buildActionMask="2147483647",
            files=[in_phase(path, ref) for path, ref in [*resources.items(), ("texts", texts)]],
            runOnlyForDeploymentPostprocessing="0"),
    ]
    target = project.add(
        "PBXNativeTarget", "app", name=described["name"], productName=described["name"],
        productType="com.apple.product-type.application", productReference=app,
        buildConfigurationList=configurations(project, "target", settings(described)),
        buildPhases=phases, buildRules=[], dependencies=[],
        packageProductDependencies=list(linked.values()))
    first = project.add(
        "PBXProject", "project", attributes={"BuildIndependentTargetsInParallel": "1"},
        buildConfigurationList=configurations(
            project, "project", {"ALWAYS_SEARCH_USER_PATHS": "NO", "CLANG_ENABLE_MODULES": "YES"}),
        compatibilityVersion="Xcode 14.0", developmentRegion="en", hasScannedForEncodings="0",
        knownRegions=["Base", *described["languages"]], mainGroup=group,
        packageReferences=[package], productRefGroup=products, projectDirPath="",
        projectRoot="", targets=[target])
    return project.objects, first


def quoted(text):
    """A text as an old-style property list has it."""
    plain = text and all(c.isascii() and (c.isalnum() or c in "._/") for c in text)
    if plain:
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def old_style(value, depth=0):
    """A value as an old-style property list: what Xcode reads and writes."""
    inner, outer = "\t" * (depth + 1), "\t" * depth
    if isinstance(value, dict):
        lines = [f"{inner}{quoted(k)} = {old_style(v, depth + 1)};\n" for k, v in value.items()]
        return "{\n" + "".join(lines) + outer + "}"
    if isinstance(value, list):
        lines = [f"{inner}{old_style(v, depth + 1)},\n" for v in value]
        return "(\n" + "".join(lines) + outer + ")"
    return quoted(str(value))


def pbxproj(described):
    """The text of project.pbxproj."""
    objects, first = build(described)
    ordered = dict(sorted(objects.items(), key=lambda item: (item[1]["isa"], item[0])))
    return "// !$*UTF8*$!\n" + old_style({
        "archiveVersion": "1", "classes": {}, "objectVersion": "60", "objects": ordered,
        "rootObject": first,
    }) + "\n"


def info(described):
    """Info.plist."""
    usual = {
        "CFBundleDevelopmentRegion": "en",
        "CFBundleExecutable": "$(EXECUTABLE_NAME)",
        "CFBundleIdentifier": "$(PRODUCT_BUNDLE_IDENTIFIER)",
        "CFBundleInfoDictionaryVersion": "6.0",
        "CFBundleName": "$(PRODUCT_NAME)",
        "CFBundlePackageType": "APPL",
        "CFBundleShortVersionString": "$(MARKETING_VERSION)",
        "CFBundleVersion": "$(CURRENT_PROJECT_VERSION)",
        "CFBundleLocalizations": described["languages"],
        "LSRequiresIPhoneOS": True,
        "UIApplicationSceneManifest": {"UIApplicationSupportsMultipleScenes": False},
        "UILaunchScreen": {},
    }
    return plistlib.dumps({**usual, **described["info"]}, sort_keys=True)


def strings(texts):
    """InfoPlist.strings of one language."""
    def always_quoted(text):
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return "".join(f"{key} = {always_quoted(text)};\n" for key, text in sorted(texts.items()))


def make(described, into):
    """Writes everything under `into`, and says what."""
    made = {
        f"{described['name']}.xcodeproj/project.pbxproj": pbxproj(described).encode(),
        "App/Info.plist": info(described),
    }
    for language, texts in described["texts"].items():
        made[f"App/{language}.lproj/InfoPlist.strings"] = strings(texts).encode()
    for name, content in made.items():
        path = into / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return sorted(made)


def main(args):
    into = Path(args[0]) if args else IOS
    try:
        for name in make(read(IOS / "App/project.toml"), into):
            print(f"{into / name}")
    except Fault as fault:
        print(f"xcode-project: {fault}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
