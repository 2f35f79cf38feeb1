using NodaTime;

namespace Incubation.Chart;

/// <summary>Sizes of a drawing, in CSS pixels.</summary>
/// <param name="Name">Ends the drawing's class name, by which the stylesheet sets its type sizes.</param>
/// <param name="Width">Whole width.</param>
/// <param name="LabelWidth">Width of the column at the heads of the lanes.</param>
/// <param name="AxisHeight">Height of the axis above the lanes.</param>
/// <param name="SlotHeight">Height of a slot's lane.</param>
/// <param name="ReaderHeight">Height of a reader's lane.</param>
/// <param name="HandsHeight">Height of a pair of hands' lane; zero leaves them out.</param>
/// <param name="BarHeight">Height of a reaction bar.</param>
/// <param name="BlockHeight">Height of a read window or a read.</param>
/// <param name="CaptionX">Where the small text at a slot's head begins; zero leaves labels out.</param>
/// <param name="CaptionLength">How many characters of it there is room for.</param>
internal sealed record Geometry(
    string Name, double Width, double LabelWidth, double AxisHeight, double SlotHeight, double ReaderHeight,
        double HandsHeight,
    double BarHeight, double BlockHeight, double CaptionX, int CaptionLength)
{
    /// <summary>Whether lanes have heads and words.</summary>
    public bool HasLabels => LabelWidth > 0;

    /// <summary>The width of a letter of a word beside a block, in the type that the stylesheet gives it.</summary>
    public double WordLetter => Name is "narrow" or "day" ? 9.5 : 11.5;

    /// <summary>The height of a lane.</summary>
    public double HeightOf(LaneKind kind) => kind switch
    {
        LaneKind.Slot => SlotHeight,
        LaneKind.Reader => ReaderHeight,
        _ => HandsHeight,
    };

    /// <summary>The sizes of live lanes with so many slots: fewer slots get higher lanes.</summary>
    public static Geometry Of(LaneLayout layout, int slots)
    {
        var wide = Math.Clamp(Math.Floor(520.0 / Math.Max(1, slots)), 44, 64);
        var portrait = Math.Clamp(Math.Floor(376.0 / Math.Max(1, slots)), 40, 56);
        return layout switch
        {
            LaneLayout.Wide => new("wide", 784, 170, 36, wide, 62, 52, wide * 0.46, wide * 0.72, 40, 11),
            LaneLayout.Portrait =>
                new("portrait", 760, 158, 34, portrait, 52, 46, portrait * 0.48, portrait * 0.76, 36, 11),
            LaneLayout.Narrow => new("narrow", 344, 92, 30, 46, 50, 44, 20, 32, 28, 8),
            _ => new("wall", 900, 0, 4, Math.Clamp(Math.Floor(160.0 / Math.Max(1, slots)), 10, 20), 20, 0, 8, 13, 0, 0),
        };
    }

    /// <summary>The sizes of a whole day's chart of a width.</summary>
    public static Geometry Day(double width) => new("day", width, 112, 70, 40, 42, 36, 22, 30, 0, 14);
}

/// <summary>Where an instant lies.</summary>
/// <param name="Origin">The instant at <paramref name="OriginX"/>.</param>
/// <param name="OriginX">In pixels.</param>
/// <param name="PixelsPerSecond">The scale.</param>
internal sealed record TimeScale(Instant Origin, double OriginX, double PixelsPerSecond)
{
    public double X(Instant at) => OriginX + (at - Origin).TotalSeconds * PixelsPerSecond;

    public double Length(Duration length) => length.TotalSeconds * PixelsPerSecond;

    public Instant At(double x) => Origin + Duration.FromSeconds((x - OriginX) / PixelsPerSecond);
}

/// <summary>A mark on the time axis.</summary>
internal sealed record AxisMark(double X, string Text);
