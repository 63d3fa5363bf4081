// Must not compile: shows that what is type-checked against the declarations is really checked.
#if canImport(SwiftUI)
import SwiftUI

struct Misspelt: View {
    var body: some View {
        Text(verbatim: "x").accessibilityLabl("x")
    }
}
#endif
