import java.io.BufferedReader;
import java.io.IOException;
import java.io.InputStreamReader;
import java.time.LocalDate;

/** The second-measure window by java.time: a line "origin day fromMonths fromDays toMonths toDays" in, "from to position" out. */
class Window {
    public static void main(String[] args) throws IOException {
        var in = new BufferedReader(new InputStreamReader(System.in));
        var out = new StringBuilder();
        for (String line = in.readLine(); line != null; line = in.readLine()) {
            String[] p = line.split(" ");
            LocalDate origin = LocalDate.parse(p[0]);
            LocalDate day = LocalDate.parse(p[1]);
            LocalDate from = origin.plusMonths(Long.parseLong(p[2])).plusDays(Long.parseLong(p[3]));
            LocalDate to = origin.plusMonths(Long.parseLong(p[4])).plusDays(Long.parseLong(p[5]));
            String position = day.isBefore(from) ? "early" : day.isAfter(to) ? "late" : "in";
            out.append(from).append(' ').append(to).append(' ').append(position).append('\n');
        }
        System.out.print(out);
    }
}
