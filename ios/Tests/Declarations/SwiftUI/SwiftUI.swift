// Declarations only, for tests on Linux: the part of SwiftUI that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

@_exported import Foundation
@_exported import Observation
@_exported import UIKit

// MARK: views

@MainActor @preconcurrency
public protocol View {
    associatedtype Body: View
    @ViewBuilder @MainActor @preconcurrency var body: Body { get }
}

/// A view of the system's own.
public protocol Primitive: View where Body == Never {}

extension Primitive {
    public var body: Never { undone() }
}

extension Never: View {
    public var body: Never { undone() }
}

extension Optional: View where Wrapped: View {
    public var body: Never { undone() }
}

public struct EmptyView: Primitive {
    public init() { undone() }
}

public struct TupleView<T>: Primitive {}

public struct ConditionalContent<First: View, Second: View>: Primitive {}

@resultBuilder
public struct ViewBuilder {
    public static func buildExpression<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock() -> EmptyView { undone() }
    public static func buildBlock<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock<each Content: View>(
        _ content: repeat each Content
    ) -> TupleView<(repeat each Content)> { undone() }
    public static func buildIf<Content: View>(_ content: Content?) -> Content? { content }
    public static func buildEither<First: View, Second: View>(
        first: First
    ) -> ConditionalContent<First, Second> { undone() }
    public static func buildEither<First: View, Second: View>(
        second: Second
    ) -> ConditionalContent<First, Second> { undone() }
}

// MARK: state

public protocol DynamicProperty {}

@propertyWrapper
public struct State<Value>: DynamicProperty {
    public init(wrappedValue value: Value) { undone() }
    public init(initialValue value: Value) { undone() }
    public var wrappedValue: Value {
        get { undone() }
        nonmutating set {}
    }
    public var projectedValue: Binding<Value> { undone() }
}

extension State where Value: ExpressibleByNilLiteral {
    public init() { undone() }
}

extension State: Sendable where Value: Sendable {}

@propertyWrapper
@dynamicMemberLookup
public struct Binding<Value> {
    public init(get: @escaping @isolated(any) @Sendable () -> Value,
        set: @escaping @isolated(any) @Sendable (Value) -> Void) { undone() }
    public var wrappedValue: Value {
        get { undone() }
        nonmutating set {}
    }
    public var projectedValue: Binding<Value> { self }
    public subscript<Subject>(
        dynamicMember keyPath: WritableKeyPath<Value, Subject>
    ) -> Binding<Subject> { undone() }
}

@propertyWrapper
@dynamicMemberLookup
public struct Bindable<Value: AnyObject & Observable> {
    public init(wrappedValue: Value) { undone() }
    public init(_ wrappedValue: Value) { undone() }
    public var wrappedValue: Value {
        get { undone() }
        set {}
    }
    public var projectedValue: Bindable<Value> { self }
    public subscript<Subject>(
        dynamicMember keyPath: ReferenceWritableKeyPath<Value, Subject>
    ) -> Binding<Subject> { undone() }
}

public protocol EnvironmentKey {
    associatedtype Value
    static var defaultValue: Value { get }
}

public struct EnvironmentValues {
    public subscript<K: EnvironmentKey>(key: K.Type) -> K.Value {
        get { undone() }
        set {}
    }
    public var isEnabled: Bool {
        get { undone() }
        set {}
    }
    public var colorScheme: ColorScheme {
        get { undone() }
        set {}
    }
    public var scenePhase: ScenePhase {
        get { undone() }
        set {}
    }
}

@propertyWrapper
public struct Environment<Value>: DynamicProperty {
    public init(_ keyPath: KeyPath<EnvironmentValues, Value>) { undone() }
    public var wrappedValue: Value { undone() }
}

public enum ScenePhase: Comparable, Sendable {
    case background, inactive, active
}

// MARK: the app

@MainActor @preconcurrency
public protocol Scene {
    associatedtype Body: Scene
    @SceneBuilder @MainActor @preconcurrency var body: Body { get }
}

extension Never: Scene {}

@resultBuilder
public struct SceneBuilder {
    public static func buildExpression<Content: Scene>(_ content: Content) -> Content { content }
    public static func buildBlock<Content: Scene>(_ content: Content) -> Content { content }
}

@MainActor @preconcurrency
public protocol App {
    associatedtype Body: Scene
    @SceneBuilder @MainActor @preconcurrency var body: Body { get }
    @MainActor @preconcurrency init()
}

extension App {
    @MainActor @preconcurrency public static func main() { undone() }
}

public struct WindowGroup<Content: View>: Scene {
    public init(@ViewBuilder content: () -> Content) { undone() }
    public var body: Never { undone() }
}

@MainActor @preconcurrency
@propertyWrapper
public struct UIApplicationDelegateAdaptor<DelegateType: NSObject & UIApplicationDelegate>:
    DynamicProperty
{
    public init(_ delegateType: DelegateType.Type = DelegateType.self) { undone() }
    public var wrappedValue: DelegateType { undone() }
}

@MainActor @preconcurrency
public protocol UIViewControllerRepresentable: View where Body == Never {
    associatedtype UIViewControllerType: UIViewController
    @MainActor @preconcurrency func makeUIViewController(context: Context) -> UIViewControllerType
    @MainActor @preconcurrency func updateUIViewController(
        _ uiViewController: UIViewControllerType, context: Context)
    typealias Context = UIViewControllerRepresentableContext<Self>
}

extension UIViewControllerRepresentable {
    public var body: Never { undone() }
}

public struct UIViewControllerRepresentableContext<Representable: UIViewControllerRepresentable> {}

@MainActor @preconcurrency
public protocol UIViewRepresentable: View where Body == Never {
    associatedtype UIViewType: UIView
    associatedtype Coordinator = Void
    @MainActor @preconcurrency func makeUIView(context: Context) -> UIViewType
    @MainActor @preconcurrency func updateUIView(_ uiView: UIViewType, context: Context)
    @MainActor @preconcurrency func makeCoordinator() -> Coordinator
    typealias Context = UIViewRepresentableContext<Self>
}

extension UIViewRepresentable {
    public var body: Never { undone() }
}

public struct UIViewRepresentableContext<Representable: UIViewRepresentable> {
    public var coordinator: Representable.Coordinator { undone() }
}

// MARK: words

public struct LocalizedStringKey: ExpressibleByStringInterpolation, Equatable, Sendable {
    public init(stringLiteral value: String) { undone() }
}

public struct Text: Primitive, Equatable, Sendable {
    public struct DateStyle: Sendable {
        public static let timer = DateStyle()
        public static let date = DateStyle()
    }
    public init(verbatim content: String) { undone() }
    @_disfavoredOverload
    public init<S: StringProtocol>(_ content: S) { undone() }
    public init(_ key: LocalizedStringKey) { undone() }
    public init(_ date: Date, style: DateStyle) { undone() }
    public func font(_ font: Font?) -> Text { self }
    public func bold() -> Text { self }
    public func bold(_ isActive: Bool) -> Text { self }
    public func underline(_ isActive: Bool = true, color: Color? = nil) -> Text { self }
    public func strikethrough(_ isActive: Bool = true, color: Color? = nil) -> Text { self }
    public func monospacedDigit() -> Text { self }
    public static func + (lhs: Text, rhs: Text) -> Text { lhs }
}

public struct Font: Hashable, Sendable {
    public static let largeTitle = Font()
    public static let title = Font()
    public static let title2 = Font()
    public static let title3 = Font()
    public static let headline = Font()
    public static let body = Font()
    public static let footnote = Font()
    public static let caption = Font()
    public func bold() -> Font { self }
    public func monospacedDigit() -> Font { self }
}

public struct Image: Primitive, Equatable, Sendable {
    public init(systemName: String) { undone() }
}

public struct Label<Title: View, Icon: View>: Primitive {
    public init(@ViewBuilder title: () -> Title, @ViewBuilder icon: () -> Icon) { undone() }
}

extension Label where Title == Text, Icon == Image {
    @_disfavoredOverload
    public init<S: StringProtocol>(_ title: S, systemImage name: String) { undone() }
    public init(_ titleKey: LocalizedStringKey, systemImage name: String) { undone() }
}

public struct LabeledContent<Label: View, Content: View>: Primitive {}

extension LabeledContent where Label == Text {
    @_disfavoredOverload
    public init<S: StringProtocol>(_ title: S, @ViewBuilder content: () -> Content) { undone() }
    public init(_ titleKey: LocalizedStringKey, @ViewBuilder content: () -> Content) { undone() }
}

// MARK: controls

public struct Button<Label: View>: Primitive {
    public init(
        action: @escaping @MainActor () -> Void, @ViewBuilder label: () -> Label
    ) { undone() }
}

extension Button where Label == Text {
    @_disfavoredOverload
    public init<S: StringProtocol>(_ title: S, action: @escaping @MainActor () -> Void) { undone() }
    public init(_ titleKey: LocalizedStringKey, action: @escaping @MainActor () -> Void) { undone() }
}

public struct ButtonStyleConfiguration {
    public struct Label: Primitive {}
    public var label: Label { undone() }
    public var isPressed: Bool { undone() }
}

@MainActor @preconcurrency
public protocol ButtonStyle {
    associatedtype Body: View
    @ViewBuilder @MainActor @preconcurrency func makeBody(configuration: Configuration) -> Body
    typealias Configuration = ButtonStyleConfiguration
}

public struct TextField<Label: View>: Primitive {}

extension TextField where Label == Text {
    @_disfavoredOverload
    public init<S: StringProtocol>(_ title: S, text: Binding<String>) { undone() }
    public init(_ titleKey: LocalizedStringKey, text: Binding<String>) { undone() }
}

@MainActor @preconcurrency
public protocol TextFieldStyle {}

public struct RoundedBorderTextFieldStyle: TextFieldStyle {}

extension TextFieldStyle where Self == RoundedBorderTextFieldStyle {
    public static var roundedBorder: RoundedBorderTextFieldStyle { undone() }
}

public struct ProgressView<Label: View>: Primitive {}

extension ProgressView where Label == Text {
    @_disfavoredOverload
    public init<S: StringProtocol>(_ title: S) { undone() }
    public init(_ titleKey: LocalizedStringKey) { undone() }
}

private func undone() -> Never { fatalError("declarations only") }
