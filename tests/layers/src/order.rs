//! Which of the project's crates may depend on which.

use cargo_metadata::{DependencyKind, Metadata};

/// A crate, and which of the project's other crates its code may use.
struct Layer {
    name: &'static str,
    below: &'static [&'static str],
}

/// Every crate of the workspace. A new one has to be given its place here.
const LAYERS: &[Layer] = &[
    Layer {
        name: "standsquare-measuring",
        below: &[],
    },
    Layer {
        name: "standsquare-chip",
        below: &[],
    },
    // It knows of no record.
    Layer {
        name: "standsquare-plain",
        below: &[],
    },
    Layer {
        name: "standsquare-journal",
        below: &[
            "standsquare-measuring",
            "standsquare-chip",
            "standsquare-plain",
        ],
    },
    Layer {
        name: "standsquare-sync",
        below: &[
            "standsquare-measuring",
            "standsquare-chip",
            "standsquare-plain",
        ],
    },
    Layer {
        name: "standsquare-session",
        below: &[
            "standsquare-measuring",
            "standsquare-chip",
            "standsquare-journal",
            "standsquare-sync",
        ],
    },
    // Never session; of the journal its record alone (RECORD_ONLY).
    Layer {
        name: "standsquare-office",
        below: &[
            "standsquare-measuring",
            "standsquare-chip",
            "standsquare-sync",
            "standsquare-journal",
        ],
    },
    // The journal only to turn its features on.
    Layer {
        name: "standsquare-bindings",
        below: &["standsquare-session", "standsquare-journal"],
    },
    // What the phone's library is weighed against: nothing of the project is in it.
    Layer {
        name: "standsquare-bare",
        below: &[],
    },
    Layer {
        name: "xtask",
        below: &[
            "standsquare-measuring",
            "standsquare-chip",
            "standsquare-journal",
        ],
    },
    // It must not share an error with what it is to test.
    Layer {
        name: "standsquare-reader",
        below: &[],
    },
    Layer {
        name: "standsquare-layers",
        below: &[],
    },
    // It reads the sources of both phones, and uses none of them.
    Layer {
        name: "standsquare-parity",
        below: &[],
    },
    Layer {
        name: "standsquare-tests",
        below: &[
            "standsquare-measuring",
            "standsquare-chip",
            "standsquare-journal",
            "standsquare-sync",
            "standsquare-session",
            "standsquare-office",
            "standsquare-reader",
        ],
    },
];

/// What any crate's tests may use besides what its code may: the emulated reader, which
/// shares no code with the product, and the helpers for second implementations in it.
const FOR_TESTS: &str = "standsquare-reader";

/// What single crates' tests may use besides: the reader's bytes are held against the framers.
const FOR_TESTS_OF: &[(&str, &str)] = &[("standsquare-reader", "standsquare-chip")];

/// Who may use the journal's record but not its store, and the features that bring the store
/// (decision record 1).
const RECORD_ONLY: &[&str] = &["standsquare-office"];
const STORE: &[&str] = &["store", "bundled"];

/// One crate of the project named in another's manifest.
#[derive(Debug, Clone)]
pub struct Edge {
    /// Whose manifest.
    pub from: String,
    /// What it names.
    pub to: String,
    /// Whether for its tests alone.
    pub for_tests: bool,
    /// The features asked for; `default` stands for those that are on unasked.
    pub features: Vec<String>,
}

/// What is wrong with the order of the crates; nothing, if all is well.
pub fn faults(crates: &[String], edges: &[Edge]) -> Vec<String> {
    let mut faults = Vec::new();
    for name in crates {
        if !LAYERS.iter().any(|l| l.name == name) {
            faults.push(format!(
                "{name} has no layer: give it its place in tests/layers/src/order.rs"
            ));
        }
    }
    for layer in LAYERS {
        if !crates.iter().any(|c| c == layer.name) {
            faults.push(format!(
                "{} has a layer but is no crate of the workspace any more",
                layer.name
            ));
        }
    }
    for edge in edges {
        let Some(layer) = LAYERS.iter().find(|l| l.name == edge.from) else {
            continue;
        };
        let in_tests =
            edge.to == FOR_TESTS || FOR_TESTS_OF.contains(&(edge.from.as_str(), edge.to.as_str()));
        let allowed = layer.below.contains(&edge.to.as_str()) || edge.for_tests && in_tests;
        if !allowed {
            faults.push(format!(
                "{} must not depend on {}{}",
                edge.from,
                edge.to,
                if edge.for_tests {
                    ", not even in its tests"
                } else {
                    ""
                }
            ));
        }
        let record_only = RECORD_ONLY.contains(&edge.from.as_str()) && !edge.for_tests;
        if record_only && edge.to == "standsquare-journal" {
            let store = edge
                .features
                .iter()
                .find(|f| *f == "default" || STORE.contains(&f.as_str()));
            if let Some(feature) = store {
                faults.push(format!(
                    "{} may use the journal's record, never its store: turn the feature {feature} off",
                    edge.from
                ));
            }
        }
    }
    faults
}

/// The project's crates and how their manifests name each other.
pub fn read(metadata: &Metadata) -> (Vec<String>, Vec<Edge>) {
    let packages = metadata.workspace_packages();
    let crates: Vec<String> = packages.iter().map(|p| p.name.to_string()).collect();
    let mut edges = Vec::new();
    for package in &packages {
        for dependency in &package.dependencies {
            if !crates.contains(&dependency.name) {
                continue;
            }
            let mut features = dependency.features.clone();
            if dependency.uses_default_features {
                features.push("default".into());
            }
            edges.push(Edge {
                from: package.name.to_string(),
                to: dependency.name.clone(),
                for_tests: dependency.kind == DependencyKind::Development,
                features,
            });
        }
    }
    (crates, edges)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Vec<String> {
        LAYERS.iter().map(|l| l.name.to_owned()).collect()
    }

    fn edge(from: &str, to: &str) -> Edge {
        Edge {
            from: from.into(),
            to: to.into(),
            for_tests: false,
            features: Vec::new(),
        }
    }

    #[test]
    fn an_import_upwards_or_sideways_is_a_fault() {
        for (from, to) in [
            ("standsquare-measuring", "standsquare-journal"),
            ("standsquare-chip", "standsquare-measuring"),
            ("standsquare-plain", "standsquare-journal"),
            ("standsquare-journal", "standsquare-sync"),
            ("standsquare-journal", "standsquare-session"),
            ("standsquare-sync", "standsquare-journal"),
            ("standsquare-session", "standsquare-bindings"),
            ("standsquare-session", "standsquare-office"),
            ("standsquare-office", "standsquare-session"),
            ("standsquare-reader", "standsquare-chip"),
            ("xtask", "standsquare-session"),
        ] {
            let found = faults(&all(), &[edge(from, to)]);
            assert_eq!(found, [format!("{from} must not depend on {to}")]);
        }
    }

    #[test]
    fn an_import_downwards_is_none() {
        let down = [
            edge("standsquare-session", "standsquare-journal"),
            edge("standsquare-bindings", "standsquare-session"),
        ];
        assert_eq!(faults(&all(), &down), [] as [String; 0]);
    }

    #[test]
    fn tests_may_use_the_emulated_reader_and_still_nothing_above() {
        let mut reader = edge("standsquare-chip", "standsquare-reader");
        assert_eq!(faults(&all(), &[reader.clone()]).len(), 1);
        reader.for_tests = true;
        assert_eq!(faults(&all(), &[reader]).len(), 0);
        let mut framers = edge("standsquare-reader", "standsquare-chip");
        assert_eq!(faults(&all(), &[framers.clone()]).len(), 1);
        framers.for_tests = true;
        assert_eq!(faults(&all(), &[framers]).len(), 0);
        let above = Edge {
            for_tests: true,
            ..edge("standsquare-chip", "standsquare-session")
        };
        assert_eq!(faults(&all(), &[above]).len(), 1);
    }

    #[test]
    fn the_office_has_the_record_without_the_store() {
        let record = edge("standsquare-office", "standsquare-journal");
        assert_eq!(faults(&all(), std::slice::from_ref(&record)).len(), 0);
        for feature in ["default", "store", "bundled"] {
            let store = Edge {
                features: vec![feature.into()],
                ..record.clone()
            };
            assert_eq!(faults(&all(), &[store]).len(), 1, "{feature}");
        }
    }

    #[test]
    fn a_crate_without_a_layer_and_a_layer_without_a_crate_are_faults() {
        let mut crates = all();
        crates.push("standsquare-extra".into());
        crates.retain(|c| c != "standsquare-chip");
        let found = faults(&crates, &[]);
        assert_eq!(found.len(), 2, "{found:?}");
    }
}
