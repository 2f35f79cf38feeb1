using System.Collections.Immutable;
using System.Reflection.Emit;
using System.Reflection.Metadata;
using System.Reflection.Metadata.Ecma335;
using System.Reflection.PortableExecutable;

namespace Incubation.Architecture.Tests;

/// <summary>
/// The folders of a built room and which of them needs which: read from what its types derive from, hold, take, return,
/// bear as attributes and name in their bodies. A namespace is a folder; what the compiler makes counts where it is
/// made.
/// Constants are gone from a built room: they make no arrow.
/// </summary>
internal static class Folders
{
    private static readonly IReadOnlyDictionary<short, OpCode> OpCodes = typeof(OpCodes).GetFields()
        .Select(field => (OpCode)field.GetValue(null)!).ToDictionary(code => code.Value);

    /// <summary>Each folder of a room with those that it needs. The room's own namespace is "".</summary>
    public static IReadOnlyDictionary<string, IReadOnlySet<string>> Read(string room)
    {
        using var file = new PEReader(File.OpenRead(Path.Combine(AppContext.BaseDirectory, $"Incubation.{room}.dll")));
        var reader = file.GetMetadataReader();
        var arrows = new SortedDictionary<string, IReadOnlySet<string>>(StringComparer.Ordinal);
        foreach (var handle in reader.TypeDefinitions)
        {
            if (FolderOf(reader, handle, room) is not { } folder)
                continue;
            var needed = new HashSet<TypeDefinitionHandle>();
            Collect(file, reader, reader.GetTypeDefinition(handle), needed);
            var found = needed.Select(other => FolderOf(reader, other, room)).OfType<string>()
                .Where(other => other != folder);
            arrows[folder] = found.Concat(arrows.GetValueOrDefault(folder, ImmutableHashSet<string>.Empty)).ToHashSet();
        }

        return arrows;
    }

    /// <summary>
    /// The circles in a graph, each as its way round: "A → B → A". Empty where every way comes to an end.
    /// </summary>
    public static IReadOnlyList<string> Circles(IReadOnlyDictionary<string, IReadOnlySet<string>> arrows)
    {
        var circles = new List<string>();
        var done = new HashSet<string>();
        foreach (var start in arrows.Keys.Order(StringComparer.Ordinal))
            Walk(start, [], arrows, done, circles);
        return circles;
    }

    private static void Walk(
        string at, List<string> way, IReadOnlyDictionary<string, IReadOnlySet<string>> arrows, HashSet<string> done,
        List<string> circles)
    {
        var before = way.IndexOf(at);
        if (before >= 0)
        {
            circles.Add(string.Join(" → ", way.Skip(before).Append(at)));
            return;
        }

        if (done.Contains(at) || !arrows.TryGetValue(at, out var needed))
            return;
        way.Add(at);
        foreach (var next in needed.Order(StringComparer.Ordinal))
            Walk(next, way, arrows, done, circles);
        way.RemoveAt(way.Count - 1);
        done.Add(at);
    }

    /// <summary>
    /// The folder of a type, by the namespace of the outermost type around it; null for what the compiler made beside
    /// the room.
    /// </summary>
    private static string? FolderOf(MetadataReader reader, TypeDefinitionHandle handle, string room)
    {
        var type = reader.GetTypeDefinition(handle);
        while (!type.GetDeclaringType().IsNil)
            type = reader.GetTypeDefinition(type.GetDeclaringType());
        var name = reader.GetString(type.Namespace);
        var own = "Incubation." + room;
        return name == own ? ""
            : name.StartsWith(own + ".", StringComparison.Ordinal) ? name[(own.Length + 1)..]
            : null;
    }

    private static void Collect(
        PEReader file, MetadataReader reader, TypeDefinition type, HashSet<TypeDefinitionHandle> found)
    {
        var signatures = new SignatureTypes(reader, found);
        signatures.Add(type.BaseType);
        foreach (var implemented in type.GetInterfaceImplementations())
            signatures.Add(reader.GetInterfaceImplementation(implemented).Interface);
        foreach (var field in type.GetFields())
            reader.GetFieldDefinition(field).DecodeSignature(signatures, null);
        foreach (var attribute in type.GetCustomAttributes())
            signatures.Add(reader.GetCustomAttribute(attribute).Constructor);
        foreach (var handle in type.GetMethods())
        {
            var method = reader.GetMethodDefinition(handle);
            method.DecodeSignature(signatures, null);
            foreach (var attribute in method.GetCustomAttributes())
                signatures.Add(reader.GetCustomAttribute(attribute).Constructor);
            if (method.RelativeVirtualAddress == 0)
                continue;
            var body = file.GetMethodBody(method.RelativeVirtualAddress);
            if (!body.LocalSignature.IsNil)
                reader.GetStandaloneSignature(body.LocalSignature).DecodeLocalSignature(signatures, null);
            foreach (var token in Tokens(body.GetILReader()))
                signatures.Add(MetadataTokens.EntityHandle(token));
        }
    }

    /// <summary>What the instructions of a body name.</summary>
    private static IEnumerable<int> Tokens(BlobReader code)
    {
        var found = new List<int>();
        while (code.RemainingBytes > 0)
        {
            var first = code.ReadByte();
            var operand = OpCodes[first == 0xfe ? unchecked((short)(0xfe00 | code.ReadByte())) : first].OperandType;
            switch (operand)
            {
                case OperandType.InlineField or OperandType.InlineMethod:
                case OperandType.InlineTok or OperandType.InlineType:
                    found.Add(code.ReadInt32());
                    break;
                case OperandType.InlineSwitch:
                    var ways = code.ReadInt32();
                    code.Offset += ways * sizeof(int);
                    break;
                default:
                    code.Offset += SizeOf(operand);
                    break;
            }
        }

        return found;
    }

    private static int SizeOf(OperandType operand) => operand switch
    {
        OperandType.InlineNone => 0,
        OperandType.ShortInlineBrTarget or OperandType.ShortInlineI or OperandType.ShortInlineVar => 1,
        OperandType.InlineVar => 2,
        OperandType.InlineI8 or OperandType.InlineR => 8,
        _ => 4,
    };
}
