using System.Globalization;
using System.Text;
using QRCoder;

namespace Incubation.Service.Labels;

/// <summary>
/// A two-dimensional code (QR, ISO/IEC 18004) as one SVG path: a unit is a module, a quiet zone is around it.
/// </summary>
/// <param name="Side">Modules along one side, the quiet zone included.</param>
/// <param name="Path">The dark modules.</param>
public sealed record SquareCode(int Side, string Path)
{
    /// <summary>Encodes a text. A quarter of the code may be soiled and it still reads.</summary>
    public static SquareCode Of(string text)
    {
        using var generator = new QRCodeGenerator();
        using var code = generator.CreateQrCode(text, QRCodeGenerator.ECCLevel.Q);
        var rows = code.ModuleMatrix;
        var path = new StringBuilder();
        for (var y = 0; y < rows.Count; y++)
            for (var x = 0; x < rows[y].Count; x++)
            {
                var from = x;
                while (x < rows[y].Count && rows[y][x])
                    x++;
                if (x > from)
                    path.Append(CultureInfo.InvariantCulture, $"M{from} {y}h{x - from}v1h-{x - from}z");
            }

        return new SquareCode(rows.Count, path.ToString());
    }
}
