// Declarations only, for tests on Linux: the part of SwiftUI that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

// MARK: layout

public enum HorizontalAlignment: Sendable { case leading, center, trailing }

public enum VerticalAlignment: Sendable { case top, center, bottom, firstTextBaseline }

public struct Alignment: Sendable {
    public static let center = Alignment()
    public static let leading = Alignment()
    public static let trailing = Alignment()
    public static let bottom = Alignment()
}

public struct Edge {
    public struct Set: OptionSet, Sendable {
        public let rawValue: Int8
        public init(rawValue: Int8) { self.rawValue = rawValue }
        public static let top = Set(rawValue: 1)
        public static let leading = Set(rawValue: 2)
        public static let bottom = Set(rawValue: 4)
        public static let trailing = Set(rawValue: 8)
        public static let horizontal: Set = [.leading, .trailing]
        public static let vertical: Set = [.top, .bottom]
        public static let all: Set = [.top, .leading, .bottom, .trailing]
    }
}

public enum ContentMode: Sendable { case fit, fill }

public struct VStack<Content: View>: Primitive {
    public init(
        alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil,
        @ViewBuilder content: () -> Content
    ) { undone() }
}

public struct HStack<Content: View>: Primitive {
    public init(
        alignment: VerticalAlignment = .center, spacing: CGFloat? = nil,
        @ViewBuilder content: () -> Content
    ) { undone() }
}

public struct ZStack<Content: View>: Primitive {
    public init(alignment: Alignment = .center, @ViewBuilder content: () -> Content) { undone() }
}

public struct Group<Content: View>: Primitive {
    public init(@ViewBuilder content: () -> Content) { undone() }
}

public struct Spacer: Primitive {
    public init(minLength: CGFloat? = nil) { undone() }
}

public struct ScrollView<Content: View>: Primitive {
    public init(@ViewBuilder content: () -> Content) { undone() }
}

public struct ViewThatFits<Content: View>: Primitive {
    public init(@ViewBuilder content: () -> Content) { undone() }
}

public struct ForEach<Data: RandomAccessCollection, ID: Hashable, Content: View>: Primitive {}

extension ForEach where ID == Data.Element.ID, Data.Element: Identifiable {
    public init(_ data: Data, @ViewBuilder content: @escaping (Data.Element) -> Content) { undone() }
}

extension ForEach {
    public init(
        _ data: Data, id: KeyPath<Data.Element, ID>,
        @ViewBuilder content: @escaping (Data.Element) -> Content
    ) { undone() }
}

// MARK: colours and shapes

@MainActor @preconcurrency
public protocol ShapeStyle {}

public struct Color: Primitive, ShapeStyle, Hashable, Sendable {
    public enum RGBColorSpace: Sendable { case sRGB, sRGBLinear, displayP3 }
    public init(
        _ colorSpace: RGBColorSpace = .sRGB, red: Double, green: Double, blue: Double,
        opacity: Double = 1
    ) { undone() }
}

public struct CGAffineTransform: Sendable {
    public init(scaleX sx: CGFloat, y sy: CGFloat) { undone() }
}

public struct Path: Sendable {
    public init() { undone() }
    public init(_ callback: (inout Path) -> Void) { undone() }
    public mutating func move(to end: CGPoint) { undone() }
    public mutating func addLine(to end: CGPoint) { undone() }
    public mutating func addLines(_ lines: [CGPoint]) { undone() }
    public mutating func addCurve(to end: CGPoint, control1: CGPoint, control2: CGPoint) { undone() }
    public mutating func closeSubpath() { undone() }
    public mutating func addRect(_ rect: CGRect) { undone() }
    public func applying(_ transform: CGAffineTransform) -> Path { self }
}

// Apart from the struct: a path itself may be made on any thread.
extension Path: Shape {
    public nonisolated func path(in rect: CGRect) -> Path { self }
}

public struct StrokeStyle: Equatable, Sendable {
    public init(
        lineWidth: CGFloat = 1, miterLimit: CGFloat = 10, dash: [CGFloat] = [],
        dashPhase: CGFloat = 0
    ) { undone() }
}

public protocol Shape: Sendable, View {
    nonisolated func path(in rect: CGRect) -> Path
}

extension Shape {
    public var body: Filled { undone() }
    public func fill<S: ShapeStyle>(_ content: S) -> some View { Filled() }
    public func stroke<S: ShapeStyle>(_ content: S, lineWidth: CGFloat = 1) -> some View {
        Filled()
    }
    public func stroke<S: ShapeStyle>(_ content: S, style: StrokeStyle) -> some View { Filled() }
}

/// A shape, drawn.
public struct Filled: Primitive {
    init() { undone() }
}

public struct RoundedRectangle: Shape {
    public init(cornerRadius: CGFloat) { undone() }
    public nonisolated func path(in rect: CGRect) -> Path { undone() }
    public func strokeBorder<S: ShapeStyle>(_ content: S, style: StrokeStyle) -> some View {
        Filled()
    }
}

extension Shape where Self == RoundedRectangle {
    public static func rect(cornerRadius: CGFloat) -> Self { undone() }
}

// MARK: what is said aloud

public struct AccessibilityTraits: SetAlgebra, Sendable {
    public typealias Element = AccessibilityTraits
    public typealias ArrayLiteralElement = AccessibilityTraits
    public static let isHeader = AccessibilityTraits()
    public static let isSelected = AccessibilityTraits()
    public static let isButton = AccessibilityTraits()
    public init() {}
    public func contains(_ member: AccessibilityTraits) -> Bool { undone() }
    public func union(_ other: AccessibilityTraits) -> AccessibilityTraits { undone() }
    public func intersection(_ other: AccessibilityTraits) -> AccessibilityTraits { undone() }
    public func symmetricDifference(_ other: AccessibilityTraits) -> AccessibilityTraits { undone() }
    @discardableResult
    public mutating func insert(
        _ newMember: AccessibilityTraits
    ) -> (inserted: Bool, memberAfterInsert: AccessibilityTraits) { undone() }
    @discardableResult
    public mutating func remove(_ member: AccessibilityTraits) -> AccessibilityTraits? { undone() }
    @discardableResult
    public mutating func update(with newMember: AccessibilityTraits) -> AccessibilityTraits? {
        undone()
    }
    public mutating func formUnion(_ other: AccessibilityTraits) { undone() }
    public mutating func formIntersection(_ other: AccessibilityTraits) { undone() }
    public mutating func formSymmetricDifference(_ other: AccessibilityTraits) { undone() }
}

public struct AccessibilityChildBehavior: Sendable {
    public static let combine = AccessibilityChildBehavior()
    public static let ignore = AccessibilityChildBehavior()
    public static let contain = AccessibilityChildBehavior()
}

public enum ColorScheme: Sendable { case light, dark }

// MARK: modifiers

extension View {
    public func font(_ font: Font?) -> some View { self }
    public func bold(_ isActive: Bool = true) -> some View { self }
    public func frame(
        width: CGFloat? = nil, height: CGFloat? = nil, alignment: Alignment = .center
    ) -> some View { self }
    public func frame(
        minWidth: CGFloat? = nil, idealWidth: CGFloat? = nil, maxWidth: CGFloat? = nil,
        minHeight: CGFloat? = nil, idealHeight: CGFloat? = nil, maxHeight: CGFloat? = nil,
        alignment: Alignment = .center
    ) -> some View { self }
    public func padding(_ length: CGFloat) -> some View { self }
    public func padding(_ edges: Edge.Set = .all, _ length: CGFloat? = nil) -> some View { self }
    public func foregroundStyle<S: ShapeStyle>(_ style: S) -> some View { self }
    public func background<S: ShapeStyle>(_ style: S) -> some View { self }
    public func background<S: ShapeStyle, T: Shape>(_ style: S, in shape: T) -> some View { self }
    public func background<V: View>(
        alignment: Alignment = .center, @ViewBuilder content: () -> V
    ) -> some View { self }
    public func overlay<V: View>(
        alignment: Alignment = .center, @ViewBuilder content: () -> V
    ) -> some View { self }
    public func opacity(_ opacity: Double) -> some View { self }
    public func aspectRatio(
        _ aspectRatio: CGFloat? = nil, contentMode: ContentMode
    ) -> some View { self }
    public func disabled(_ disabled: Bool) -> some View { self }
    public func buttonStyle<S: ButtonStyle>(_ style: S) -> some View { self }
    public func textFieldStyle<S: TextFieldStyle>(_ style: S) -> some View { self }
    public func environment<V>(
        _ keyPath: WritableKeyPath<EnvironmentValues, V>, _ value: V
    ) -> some View { self }
    public func preferredColorScheme(_ colorScheme: ColorScheme?) -> some View { self }
    public func accessibilityElement(
        children: AccessibilityChildBehavior = .ignore
    ) -> some View { self }
    public func accessibilityAddTraits(_ traits: AccessibilityTraits) -> some View { self }
    public func accessibilityIdentifier(_ identifier: String) -> some View { self }
    @_disfavoredOverload
    public func accessibilityLabel<S: StringProtocol>(_ label: S) -> some View { self }
    public func accessibilityLabel(_ label: LocalizedStringKey) -> some View { self }
    @_disfavoredOverload
    public func accessibilityHint<S: StringProtocol>(_ hint: S) -> some View { self }
    @_disfavoredOverload
    public func accessibilityValue<S: StringProtocol>(_ value: S) -> some View { self }
    public func task(
        priority: TaskPriority = .userInitiated,
        @_inheritActorContext _ action: @escaping @Sendable () async -> Void
    ) -> some View { self }
    public func task<T: Equatable>(
        id value: T, priority: TaskPriority = .userInitiated,
        @_inheritActorContext _ action: @escaping @Sendable () async -> Void
    ) -> some View { self }
    public func onChange<V: Equatable>(
        of value: V, initial: Bool = false, _ action: @escaping (V, V) -> Void
    ) -> some View { self }
    public func onDisappear(perform action: (() -> Void)? = nil) -> some View { self }
    public func onOpenURL(perform action: @escaping (URL) -> Void) -> some View { self }
    public func sheet<Item: Identifiable, Content: View>(
        item: Binding<Item?>, onDismiss: (() -> Void)? = nil,
        @ViewBuilder content: @escaping (Item) -> Content
    ) -> some View { self }
}

private func undone() -> Never { fatalError("declarations only") }
