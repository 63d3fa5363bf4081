import Foundation

extension Words {
    /// A length in centimetres without its unit, with as many decimals as it needs: inside it is
    /// micrometres.
    public func centimetres(um: Int64) -> String {
        decimal(um, unit: 10_000)
    }

    /// An angle in degrees, from thousandths, to the nearest tenth.
    func degrees(mdeg: Int32) -> String {
        let tenths = (Double(mdeg) / 100).rounded()
        return decimal(Int64(tenths), unit: 10)
    }

    /// A calendar day as the language writes it. What is not a day is shown as it came.
    public func day(_ iso: String) -> String {
        let read = Words.calendarDays(pattern: "yyyy-MM-dd", language: "en_US_POSIX")
        guard iso.count == 10, let date = read.date(from: iso) else { return iso }
        return Words.calendarDays(pattern: dayPattern, language: language).string(from: date)
    }

    /// A number in units of which `unit` make a whole one; `unit` is a power of ten.
    private func decimal(_ number: Int64, unit: Int64) -> String {
        let (whole, rest) = number.magnitude.quotientAndRemainder(dividingBy: UInt64(unit))
        let sign = number < 0 ? "-" : ""
        guard rest > 0 else { return "\(sign)\(whole)" }
        // The leading 1 keeps the zeros after the mark.
        var digits = String(UInt64(unit) + rest).dropFirst()
        while digits.last == "0" { digits.removeLast() }
        return "\(sign)\(whole)\(decimalMark)\(digits)"
    }

    private static func calendarDays(pattern: String, language: String) -> DateFormatter {
        let formatter = DateFormatter()
        formatter.calendar = Calendar(identifier: .gregorian)
        formatter.locale = Locale(identifier: language)
        formatter.timeZone = TimeZone(secondsFromGMT: 0)
        formatter.isLenient = false
        formatter.dateFormat = pattern
        return formatter
    }
}
